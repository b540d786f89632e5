"""The salon's rules of mixing: how much a bowl holds, how finely it is weighed."""

from decimal import Decimal
from typing import Any

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from salon.append_only import AppendOnlyModel
from salon.models import Salon


def _grams(label: Any, default: str, *, least: str = "5", most: str = "200") -> Any:
    return models.DecimalField(
        label,
        max_digits=5,
        decimal_places=1,
        default=Decimal(default),
        validators=[MinValueValidator(Decimal(least)), MaxValueValidator(Decimal(most))],
    )


def _times(label: Any, default: str) -> Any:
    return models.DecimalField(
        label,
        max_digits=3,
        decimal_places=2,
        default=Decimal(default),
        validators=[MinValueValidator(Decimal("0.2")), MaxValueValidator(Decimal(4))],
    )


class ScaleStep(models.TextChoices):
    """What the bench's scale shows."""

    TENTH = "0.1", _("0.1 g")
    HALF = "0.5", _("0.5 g")
    WHOLE = "1", _("1 g")


class MixingRules(AppendOnlyModel):
    """How much a bowl holds and how finely it is weighed; the highest number is in force.

    Grams of mixture (colour and developer) of each zone for normal density and hair to the
    shoulder, times one factor for the length (the roots are as wide as they are, whatever the
    length) and one for the density. The defaults are common practice, no source.
    """

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="mixing_rules")
    number = models.PositiveIntegerField(default=1)
    roots_grams = _grams(_("roots, g"), "30")
    mid_lengths_grams = _grams(_("mid-lengths, g"), "30")
    ends_grams = _grams(_("ends, g"), "20")
    short_factor = _times(_("short hair, times"), "0.6")
    shoulder_factor = _times(_("length to the shoulder, times"), "1")
    long_factor = _times(_("longer than the shoulder, times"), "1.6")
    thin_factor = _times(_("little hair, times"), "0.8")
    normal_factor = _times(_("average amount of hair, times"), "1")
    thick_factor = _times(_("a lot of hair, times"), "1.3")
    least_bowl_grams = _grams(_("smallest bowl, g"), "20", least="10", most="100")
    least_grams = _grams(_("least weight of a shade, g"), "2", least="0.1", most="10")
    scale_step = models.CharField(
        _("the scale shows"), max_length=3, choices=ScaleStep.choices, default=ScaleStep.TENTH
    )
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(fields=["salon", "number"], name="mixing_rules_once"),
            models.CheckConstraint(
                condition=Q(
                    roots_grams__gt=0,
                    mid_lengths_grams__gt=0,
                    ends_grams__gt=0,
                    least_bowl_grams__gt=0,
                    least_grams__gt=0,
                ),
                name="mixing_grams_above_zero",
            ),
            models.CheckConstraint(
                condition=Q(scale_step__in=ScaleStep.values), name="mixing_scale_step_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.salon} {self.number}"
