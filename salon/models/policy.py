"""The salon's rules on patch tests and age, every version."""

import datetime as dt

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from salon.append_only import AppendOnlyModel
from salon.models.salon import Salon

# A record entered so soon after the act counts as entered at once.
FREE_ENTRY = dt.timedelta(minutes=15)


class Policy(AppendOnlyModel):
    """The salon's rules on patch tests and age; the highest number is in force.

    The defaults follow the more careful of the published practices: at least 48 h before
    the service, read at 48 h, valid for six months, kept for six years, none under 16
    (one UK trade federation's guidance and one insurer's terms; EU Regulation 1223/2009
    Annex III for the age). Other bodies ask for more: the FDA advises a test each time.
    """

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="policies")
    number = models.PositiveIntegerField(default=1)
    patch_lead_hours = models.PositiveSmallIntegerField(
        _("hours between test and service, at least"),
        default=48,
        validators=[MinValueValidator(24), MaxValueValidator(168)],
    )
    patch_read_hours = models.PositiveSmallIntegerField(
        _("hours until a test can be read"),
        default=48,
        validators=[MinValueValidator(24), MaxValueValidator(96)],
    )
    patch_valid_months = models.PositiveSmallIntegerField(
        _("months a clear test is valid"),
        default=6,
        validators=[MinValueValidator(1), MaxValueValidator(12)],
    )
    minimum_age = models.PositiveSmallIntegerField(
        _("youngest age for colour"),
        default=16,
        validators=[MinValueValidator(16), MaxValueValidator(21)],
    )
    records_keep_years = models.PositiveSmallIntegerField(
        _("years to keep records"),
        default=6,
        validators=[MinValueValidator(1), MaxValueValidator(30)],
    )
    photos_keep_years = models.PositiveSmallIntegerField(
        _("years to keep photos"),
        default=2,
        validators=[MinValueValidator(1), MaxValueValidator(30)],
    )
    messages_keep_months = models.PositiveSmallIntegerField(
        _("months to keep reminders and rows of imported lists"),
        default=12,
        validators=[MinValueValidator(1), MaxValueValidator(120)],
    )
    idle_lock_minutes = models.PositiveSmallIntegerField(
        _("minutes until an idle screen is locked"),
        default=5,
        validators=[MinValueValidator(1), MaxValueValidator(30)],
        help_text=_("Applies from the next sign-in."),
    )
    owners_need_second_factor = models.BooleanField(
        _("owners sign in with a second factor"),
        default=False,
        help_text=_("Each owner is asked to set one up at their next sign-in."),
    )
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(fields=["salon", "number"], name="policy_number_once"),
            models.CheckConstraint(
                condition=Q(
                    patch_lead_hours__gte=24,
                    patch_read_hours__gte=24,
                    patch_valid_months__gte=1,
                    minimum_age__gte=16,
                ),
                name="policy_not_careless",
            ),
            models.CheckConstraint(
                condition=Q(idle_lock_minutes__gte=1, idle_lock_minutes__lte=30),
                name="policy_locks_in_time",
            ),
        ]

    @property
    def wait(self) -> dt.timedelta:
        """How long a test placed now keeps colour waiting: until read, and its lead."""
        return dt.timedelta(hours=max(self.patch_lead_hours, self.patch_read_hours))

    def readable_at(self, placed_at: dt.datetime) -> dt.datetime:
        """Return when a test that was placed then can be read."""
        return placed_at + dt.timedelta(hours=self.patch_read_hours)

    def usable_at(self, placed_at: dt.datetime) -> dt.datetime:
        """Return when colour may start at the earliest, if that test is clear."""
        return placed_at + self.wait

    def __str__(self) -> str:
        return f"{self.salon} {self.number}"
