"""The limits within which mixes are offered."""

from decimal import Decimal
from typing import Any

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from salon.append_only import AppendOnlyModel
from salon.models import Salon


def _levels(label: Any, default: str) -> Any:
    return models.DecimalField(
        label,
        max_digits=3,
        decimal_places=1,
        default=Decimal(default),
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(9))],
    )


class PracticeRules(AppendOnlyModel):
    """Which of all mixes are offered; the highest number is in force.

    The defaults are common practice, no source. The least that is weighed of a shade stands
    among the rules of mixing, since bowls follow it too.
    """

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="practice_rules")
    number = models.PositiveIntegerField(default=1)
    levels_below = _levels(_("darker than the hair, levels at most"), "2")
    levels_above = _levels(_("lighter than the hair, levels at most"), "1")
    most_clear_percent = models.PositiveSmallIntegerField(
        _("clear in the colour, % at most"), default=50, validators=[MaxValueValidator(100)]
    )
    most_shades = models.PositiveSmallIntegerField(
        _("shades in one bowl, at most"),
        default=3,
        validators=[MinValueValidator(1), MaxValueValidator(3)],
    )
    simple_first = models.BooleanField(
        _("if mixes are equally forgiving, offer the simple ratio first"), default=True
    )
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(fields=["salon", "number"], name="practice_rules_once"),
            models.CheckConstraint(
                condition=Q(levels_below__gte=0, levels_below__lte=9)
                & Q(levels_above__gte=0, levels_above__lte=9),
                name="practice_levels_on_the_scale",
            ),
            models.CheckConstraint(
                condition=Q(most_clear_percent__lte=100), name="practice_clear_up_to_100"
            ),
            models.CheckConstraint(
                condition=Q(most_shades__gte=1, most_shades__lte=3),
                name="practice_shades_one_to_three",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.salon} {self.number}"
