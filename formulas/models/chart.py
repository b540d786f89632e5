"""A salon's own colours of the level chart."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from salon.append_only import AppendOnlyModel
from salon.models import Salon


class EntryKind(models.TextChoices):
    """The two colours that a level has."""

    NATURAL = "natural", _("natural hair")
    WARMTH = "warmth", _("exposed warmth")


class Standing(models.TextChoices):
    """Where a colour of the chart comes from."""

    ASSUMED = "assumed", _("model assumption")
    MEASURED = "measured", _("measured swatch")
    BY_EYE = "by_eye", _("set by eye")


class ChartEntry(AppendOnlyModel):
    """A salon's own colour for one level, replacing the default; the latest row counts."""

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="chart_entries")
    level = models.DecimalField(_("level"), max_digits=3, decimal_places=1)
    kind = models.CharField(max_length=10, choices=EntryKind.choices)
    standing = models.CharField(max_length=10, choices=Standing.choices)
    lightness = models.FloatField("L*")
    green_red = models.FloatField("a*")
    blue_yellow = models.FloatField("b*")
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["level", "kind", "-recorded_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(level__gte=1, level__lte=10), name="chart_level_within_1_to_10"
            ),
            models.CheckConstraint(
                condition=Q(lightness__gte=0, lightness__lte=100),
                name="chart_lightness_0_to_100",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.level} {self.kind}"
