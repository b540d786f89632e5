"""Opening hours, closed days and absences."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from salon.models import Salon


class Weekday(models.IntegerChoices):
    """The days of the week as `datetime.date.weekday` counts them."""

    MONDAY = 0, _("Monday")
    TUESDAY = 1, _("Tuesday")
    WEDNESDAY = 2, _("Wednesday")
    THURSDAY = 3, _("Thursday")
    FRIDAY = 4, _("Friday")
    SATURDAY = 5, _("Saturday")
    SUNDAY = 6, _("Sunday")


class OpeningHours(models.Model):
    """One weekday's hours; a day without a row keeps the salon's usual hours."""

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="opening_hours")
    weekday = models.PositiveSmallIntegerField(_("weekday"), choices=Weekday.choices)
    is_open = models.BooleanField(_("open"), default=True)
    opens_at = models.TimeField(_("opens at"))
    closes_at = models.TimeField(_("closes at"))

    class Meta:
        ordering = ["weekday"]
        constraints = [
            models.UniqueConstraint(fields=["salon", "weekday"], name="hours_once_a_weekday"),
            models.CheckConstraint(
                condition=Q(opens_at__lt=F("closes_at")), name="hours_open_before_they_close"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_weekday_display()} {self.opens_at:%H:%M}-{self.closes_at:%H:%M}"


class ClosedDay(models.Model):
    """A date on which nobody works."""

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="closed_days")
    date = models.DateField(_("date"))
    reason = models.CharField(_("reason"), max_length=80, blank=True)
    added_at = models.DateTimeField(null=True, editable=False)
    # Which of the yearly holidays closed it (`clients.diary.yearly_holidays`); empty by hand.
    holiday = models.CharField(max_length=80, default="", blank=True, editable=False)

    class Meta:
        ordering = ["date"]
        constraints = [
            models.UniqueConstraint(fields=["salon", "date"], name="closed_day_once"),
        ]

    def __str__(self) -> str:
        return f"{self.date:%Y-%m-%d}"


class AbsenceKind(models.TextChoices):
    """Why a stylist takes no client."""

    BREAK = "break", _("break")
    DAY_OFF = "day_off", _("day off")
    AWAY = "away", _("away")


class Absence(models.Model):
    """Time in which a stylist takes no client; it claims slots just as a booking does."""

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="absences")
    stylist = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="absences"
    )
    kind = models.CharField(_("kind"), max_length=10, choices=AbsenceKind.choices)
    starts_at = models.DateTimeField(_("starts at"))
    ends_at = models.DateTimeField(_("ends at"))
    added_at = models.DateTimeField(null=True, editable=False)

    class Meta:
        ordering = ["starts_at", "pk"]
        indexes = [models.Index(fields=["salon", "starts_at"], name="absence_by_day")]
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_at__gt=F("starts_at")), name="absence_ends_after_start"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.starts_at:%Y-%m-%d %H:%M}"
