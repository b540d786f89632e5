"""Patch tests, their readings, and an owner's override for one appointment."""

import datetime as dt

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from clients.models.appointment import Appointment
from clients.models.client import Client
from clients.sealed.fields import SealedTextField
from formulas.models import ProductLine
from salon.append_only import AppendOnlyModel
from salon.models import FREE_ENTRY, Salon


class Site(models.TextChoices):
    """Where on the skin a test is placed."""

    BEHIND_LEFT_EAR = "behind_left_ear", _("behind the left ear")
    BEHIND_RIGHT_EAR = "behind_right_ear", _("behind the right ear")
    LEFT_INNER_ELBOW = "left_inner_elbow", _("left inner elbow")
    RIGHT_INNER_ELBOW = "right_inner_elbow", _("right inner elbow")


class PatchTest(AppendOnlyModel):
    """A skin allergy alert test, placed; what came of it is in its readings."""

    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="patch_tests")
    line = models.ForeignKey(
        ProductLine,
        on_delete=models.PROTECT,
        related_name="patch_tests",
        verbose_name=_("product line"),
    )
    site = models.CharField(_("site"), max_length=20, choices=Site.choices)
    site_number = models.PositiveSmallIntegerField(_("site number"), default=1)
    batch = models.CharField(_("batch"), max_length=40)
    applied_at = models.DateTimeField(_("placed at"))
    applied_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    recorded_at = models.DateTimeField()
    # Of a test that was entered later than it was placed.
    late_reason = SealedTextField(
        _("reason"), of="client", is_kept=True, max_length=200, blank=True
    )
    witnessed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["-applied_at", "-pk"]
        indexes = [
            models.Index(fields=["line", "-applied_at"], name="patch_test_by_line"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(applied_at__lte=F("recorded_at")),
                name="patch_test_not_recorded_before_it_was_placed",
            ),
            models.CheckConstraint(
                condition=Q(site_number__gte=1, site_number__lte=9),
                name="patch_test_site_number_1_to_9",
            ),
            models.CheckConstraint(condition=~Q(batch=""), name="patch_test_names_its_batch"),
        ]

    @property
    def salon(self) -> Salon:
        """The salon whose record it is."""
        return self.client.salon

    @property
    def is_entered_late(self) -> bool:
        """Whether it was entered later than is free."""
        return self.recorded_at - self.applied_at > FREE_ENTRY

    @property
    def late_note(self) -> str:
        """When it was placed and when entered, where it was entered later; else nothing."""
        if not self.is_entered_late:
            return ""
        return gettext("Entered later: placed %(placed)s, entered %(entered)s.") % {
            "placed": _moment(self.applied_at),
            "entered": _moment(self.recorded_at),
        }

    def __str__(self) -> str:
        return f"{self.client} {self.line} {self.applied_at:%Y-%m-%d}"


def _moment(at: dt.datetime) -> str:
    return date_format(timezone.localtime(at), "SHORT_DATETIME_FORMAT")


class ReadingOutcome(models.TextChoices):
    """What a reading found."""

    NO_REACTION = "no_reaction", _("no reaction")
    REACTION = "reaction", _("reaction")
    NOT_RETURNED = "not_returned", _("did not come back")


class PatchTestReading(AppendOnlyModel):
    """One look at a test. A late reaction is a further reading, and blocks from then on."""

    test = models.ForeignKey(PatchTest, on_delete=models.PROTECT, related_name="readings")
    # A copy of the test's moment, so that the database itself can refuse a reading before it.
    applied_at = models.DateTimeField(editable=False)
    outcome = models.CharField(_("outcome"), max_length=12, choices=ReadingOutcome.choices)
    signs = SealedTextField(
        _("signs"), of="test.client", is_kept=True, max_length=200, blank=True
    )
    read_at = models.DateTimeField(_("read at"))
    recorded_at = models.DateTimeField(null=True)  # unknown of early ones
    read_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["read_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(read_at__gt=F("applied_at")),
                name="patch_reading_after_its_application",
            ),
            models.CheckConstraint(
                condition=~Q(outcome="reaction") | ~Q(signs=""),
                name="patch_reaction_names_its_signs",
            ),
        ]

    @property
    def salon(self) -> Salon:
        """The salon whose record it is."""
        return self.test.salon

    def __str__(self) -> str:
        return f"{self.test} {self.outcome}"


class PatchOverride(AppendOnlyModel):
    """The owner's written decision to let one appointment go ahead without a valid test."""

    appointment = models.OneToOneField(
        Appointment, on_delete=models.PROTECT, related_name="patch_override"
    )
    reason = SealedTextField(_("reason"), of="appointment.client", is_kept=True, max_length=400)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        constraints = [
            models.CheckConstraint(condition=~Q(reason=""), name="override_has_a_reason"),
        ]

    @property
    def salon(self) -> Salon:
        """The salon whose record it is."""
        return self.appointment.salon

    def __str__(self) -> str:
        return f"{self.appointment_id}"
