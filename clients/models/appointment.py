"""Appointments, their status, and every change made to them."""

import datetime as dt

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from clients.models.client import Client
from clients.models.diary import BookedParts, Chair, Service
from clients.sealed.fields import SealedTextField
from formulas.models import ProductLine
from salon.append_only import AppendOnlyModel
from salon.models import Salon


class Status(models.TextChoices):
    """The status of an appointment."""

    BOOKED = "booked", _("booked")
    CHECKED_IN = "checked_in", _("checked in")
    IN_SERVICE = "in_service", _("in progress")
    DONE = "done", _("done")
    NO_SHOW = "no_show", _("no-show")
    CANCELLED = "cancelled", _("cancelled")


class AppointmentQuerySet(models.QuerySet["Appointment"]):
    """Appointments with what a page shows of them."""

    def for_salon(self, salon: Salon) -> "AppointmentQuerySet":
        return self.filter(salon=salon)

    def for_show(self) -> "AppointmentQuerySet":
        return self.select_related("client", "stylist", "chair", "service", "line")

    def for_diary(self) -> "AppointmentQuerySet":
        """With what is shown of each; what many have in common is read once."""
        return self.select_related("client").prefetch_related(
            "stylist", "chair", "service", "line"
        )

    def active(self) -> "AppointmentQuerySet":
        """Those that take up time."""
        return self.exclude(status__in=[Status.CANCELLED, Status.NO_SHOW])


class Appointment(models.Model):
    """A client, a stylist, a service and a time."""

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="appointments")
    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="appointments")
    stylist = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="appointments"
    )
    chair = models.ForeignKey(Chair, on_delete=models.PROTECT, null=True, blank=True)
    service = models.ForeignKey(Service, on_delete=models.PROTECT)
    line = models.ForeignKey(
        ProductLine,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        verbose_name=_("product line"),
    )
    starts_at = models.DateTimeField(_("starts at"))
    ends_at = models.DateTimeField(_("ends at"))
    # As booked: a service that is changed later does not shift what is in the diary.
    processing_from = models.DateTimeField(null=True, editable=False)
    processing_until = models.DateTimeField(null=True, editable=False)
    status = models.CharField(max_length=12, choices=Status.choices, default=Status.BOOKED)
    note = models.CharField(_("note"), max_length=300, blank=True)
    cancel_reason = models.CharField(_("reason"), max_length=200, blank=True)
    is_walk_in = models.BooleanField(_("walk-in"), default=False)
    # Held at the bench for the client, until the desk has agreed it with them.
    is_proposed = models.BooleanField(_("to be confirmed"), default=False)
    series = models.UUIDField(null=True, editable=False)  # repeat bookings made together
    # Where this booking is longer or shorter than its service usually takes.
    own_minutes = models.PositiveSmallIntegerField(_("length, minutes"), null=True, blank=True)
    # Booked beside another appointment of the same client, on purpose.
    is_together = models.BooleanField(_("two services, one visit"), default=False)
    quoted_price = models.DecimalField(
        _("price quoted"), max_digits=8, decimal_places=2, null=True, blank=True
    )
    has_deposit = models.BooleanField(_("deposit paid"), default=False)
    deposit_amount = models.DecimalField(
        _("deposit, amount"), max_digits=8, decimal_places=2, null=True, blank=True
    )
    deposit_note = models.CharField(_("deposit, note"), max_length=80, blank=True)
    confirmed_at = models.DateTimeField(null=True, editable=False)
    late_at = models.DateTimeField(null=True, editable=False)
    arrived_at = models.DateTimeField(null=True, editable=False)
    version = models.PositiveIntegerField(default=1, editable=False)

    objects = AppointmentQuerySet.as_manager()

    class Meta:
        ordering = ["starts_at", "stylist__column_order", "pk"]
        indexes = [
            models.Index(fields=["salon", "starts_at"], name="appointment_by_day"),
            models.Index(fields=["client", "starts_at"], name="appointment_by_client"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_at__gt=F("starts_at")), name="appointment_ends_after_start"
            ),
            models.CheckConstraint(
                condition=Q(status__in=Status.values), name="appointment_status_known"
            ),
            models.CheckConstraint(
                condition=Q(processing_from__isnull=True, processing_until__isnull=True)
                | Q(
                    processing_from__gt=F("starts_at"),
                    processing_until__gt=F("processing_from"),
                    processing_until__lte=F("ends_at"),
                ),
                name="appointment_processing_inside",
            ),
            models.CheckConstraint(
                condition=Q(own_minutes__isnull=True)
                | Q(own_minutes__gt=0, own_minutes=F("own_minutes") / 5 * 5),
                name="appointment_length_in_steps",
            ),
            models.CheckConstraint(
                condition=(Q(quoted_price__isnull=True) | Q(quoted_price__gte=0))
                & (Q(deposit_amount__isnull=True) | Q(deposit_amount__gte=0)),
                name="appointment_money_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.client} {self.starts_at:%Y-%m-%d %H:%M}"

    @property
    def minutes(self) -> int:
        """How long the client stays: this booking's own length, else its service's."""
        return self.own_minutes or self.service.minutes

    @property
    def cancel_words(self) -> str:
        """Why it was cancelled, in the reader's language."""
        return reason_words(self.cancel_reason)

    @property
    def is_off(self) -> bool:
        """Whether it takes up no time: cancelled or a no-show."""
        return self.status in {Status.CANCELLED, Status.NO_SHOW}

    def place_at(self, starts_at: dt.datetime) -> None:
        """Set the times of every part from the service, for a start.

        A length of its own moves the end: application and processing stay what they are.
        """
        parts = self.service.parts_at(starts_at, self.minutes)
        self.starts_at, self.ends_at = parts.starts_at, parts.ends_at
        self.processing_from = parts.processing_from
        self.processing_until = parts.processing_until

    def busy_parts(self) -> list[tuple[dt.datetime, dt.datetime]]:
        """Return when the stylist's hands are needed, as it was booked."""
        return BookedParts(
            self.starts_at, self.processing_from, self.processing_until, self.ends_at
        ).busy


class EventKind(models.TextChoices):
    """What was done to an appointment."""

    BOOKED = "booked", _("booked")
    MOVED = "moved", _("moved")
    CHANGED = "changed", _("changed")
    AGREED = "agreed", _("agreed with the client")
    ENDED = "ended", _("ended")
    RESTORED = "restored", _("booked again")
    CONFIRMED = "confirmed", _("confirmed by the client")
    LATE = "late", _("running late")
    ARRIVED = "arrived", _("arrived")
    UNMARKED = "unmarked", _("mark removed")


class CancelReason(models.TextChoices):
    """Why the salon itself cancelled, where nobody typed a reason."""

    STYLIST_AWAY = "stylist_away", _("the stylist is away")
    SALON_CLOSED = "salon_closed", _("the salon is closed on this day")
    STYLIST_LEFT = "stylist_left", _("the stylist no longer works here")


def reason_words(text: str) -> str:
    """Return a reason as it was typed, or in the reader's language where it is a code."""
    return str(CancelReason(text).label) if text in CancelReason.values else text


class AppointmentEvent(AppendOnlyModel):
    """One change of an appointment: the diary shows the latest, the record keeps them all."""

    appointment = models.ForeignKey(
        Appointment, on_delete=models.PROTECT, related_name="events"
    )
    # Rows from before 2026-11-29 and the steps of a visit have none: their status says it.
    kind = models.CharField(max_length=10, choices=EventKind.choices, blank=True)
    # What became of which field, as [field, before, after]; a note's words are left out.
    changes = models.JSONField(default=list, blank=True)
    status = models.CharField(max_length=12, choices=Status.choices)
    starts_at = models.DateTimeField()
    stylist = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    reason = SealedTextField(of="appointment.client", max_length=200, blank=True)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["recorded_at", "pk"]

    @property
    def salon(self) -> Salon:
        """The salon whose record it is."""
        return self.appointment.salon

    def __str__(self) -> str:
        return f"{self.appointment_id} {self.status}"

    @property
    def reason_words(self) -> str:
        """Why, in the reader's language."""
        return reason_words(self.reason)

    @property
    def sets_start(self) -> bool:
        """Whether it is about when the visit starts, and with whom."""
        return self.kind in {"", EventKind.BOOKED, EventKind.MOVED, EventKind.RESTORED}

    @property
    def label(self) -> str:
        """What was done, in the reader's language."""
        if self.kind in {"", EventKind.ENDED}:
            return self.get_status_display()
        return self.get_kind_display()
