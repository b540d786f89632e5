"""What the diary is made of: chairs, services, and time slots that are taken once."""

import datetime as dt
from dataclasses import dataclass

from django.conf import settings
from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from salon.models import Salon

SLOT_MINUTES = 5


class Chair(models.Model):
    """A place to sit; it is taken for the whole of an appointment."""

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="chairs")
    name = models.CharField(_("name"), max_length=40)
    is_active = models.BooleanField(_("in use"), default=True)

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["salon", "name"], name="chair_name_once"),
        ]

    def __str__(self) -> str:
        return self.name


@dataclass(frozen=True)
class BookedParts:
    """The moments of a booked time: while colour processes, the stylist's hands are free."""

    starts_at: dt.datetime
    processing_from: dt.datetime | None
    processing_until: dt.datetime | None
    ends_at: dt.datetime

    @property
    def busy(self) -> list[tuple[dt.datetime, dt.datetime]]:
        """When the stylist's hands are needed."""
        if self.processing_from is None or self.processing_until is None:
            return [(self.starts_at, self.ends_at)]
        parts = [(self.starts_at, self.processing_from), (self.processing_until, self.ends_at)]
        return [(start, end) for start, end in parts if start < end]


class Service(models.Model):
    """Something that is booked; while it processes the stylist is free for someone else."""

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="services")
    name = models.CharField(_("name"), max_length=60)
    application_minutes = models.PositiveSmallIntegerField(
        _("application, minutes"), default=30, validators=[MaxValueValidator(480)]
    )
    processing_minutes = models.PositiveSmallIntegerField(
        _("processing, minutes"), default=0, validators=[MaxValueValidator(240)]
    )
    finish_minutes = models.PositiveSmallIntegerField(
        _("finish, minutes"), default=0, validators=[MaxValueValidator(240)]
    )
    is_colour = models.BooleanField(_("needs a patch test"), default=True)
    no_test_reason = models.CharField(
        _("why no patch test is needed"), max_length=200, blank=True
    )
    is_patch_test = models.BooleanField(_("patch-test visit"), default=False)
    is_active = models.BooleanField(_("offered"), default=True)

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(is_colour=False) | Q(is_patch_test=False),
                name="service_colour_or_patch_test",
            ),
            models.UniqueConstraint(fields=["salon", "name"], name="service_name_once"),
            models.CheckConstraint(
                condition=Q(application_minutes__gt=0)
                & Q(application_minutes=F("application_minutes") / SLOT_MINUTES * SLOT_MINUTES)
                & Q(processing_minutes=F("processing_minutes") / SLOT_MINUTES * SLOT_MINUTES)
                & Q(finish_minutes=F("finish_minutes") / SLOT_MINUTES * SLOT_MINUTES),
                name="service_in_steps_of_five_minutes",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def minutes(self) -> int:
        """How long the client stays."""
        return self.application_minutes + self.processing_minutes + self.finish_minutes

    def parts_at(self, starts_at: dt.datetime, minutes: int | None = None) -> BookedParts:
        """Return its parts from a start on; a length of its own moves only the end."""
        ends_at = starts_at + dt.timedelta(minutes=minutes or self.minutes)
        if not self.processing_minutes:
            return BookedParts(starts_at, None, None, ends_at)
        applied = starts_at + dt.timedelta(minutes=self.application_minutes)
        processed = applied + dt.timedelta(minutes=self.processing_minutes)
        return BookedParts(starts_at, applied, processed, ends_at)


class SlotClaim(models.Model):
    """Five minutes of a stylist or a chair, claimed once: two bookings cannot share them."""

    appointment = models.ForeignKey(
        "clients.Appointment", on_delete=models.CASCADE, null=True, related_name="claims"
    )
    absence = models.ForeignKey(
        "clients.Absence", on_delete=models.CASCADE, null=True, related_name="claims"
    )
    stylist = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    chair = models.ForeignKey(Chair, on_delete=models.PROTECT, null=True, related_name="+")
    slot_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["stylist", "slot_at"],
                condition=Q(stylist__isnull=False),
                name="claim_of_a_stylist_once",
            ),
            models.UniqueConstraint(
                fields=["chair", "slot_at"],
                condition=Q(chair__isnull=False),
                name="claim_of_a_chair_once",
            ),
            models.CheckConstraint(
                condition=Q(stylist__isnull=True) ^ Q(chair__isnull=True),
                name="claim_of_a_stylist_or_a_chair",
            ),
            models.CheckConstraint(
                condition=Q(appointment__isnull=True) ^ Q(absence__isnull=True),
                name="claim_for_a_booking_or_an_absence",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.slot_at:%Y-%m-%d %H:%M}"
