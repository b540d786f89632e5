"""Shades of a product line."""

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from formulas.models.line import ProductLine
from salon.models import Salon


class Shade(models.Model):
    """One shade of a line: a level and tone pigments, or clear (no level).

    `tones` maps pigment families (yellow, orange, red, violet, blue, green) to amounts on
    the engine's scale; `reflectance` holds a measured swatch on white hair, 31 values from
    400 to 700 nm, where the salon has one.
    """

    line = models.ForeignKey(ProductLine, on_delete=models.PROTECT, related_name="shades")
    name = models.CharField(_("name"), max_length=60)
    level = models.DecimalField(
        _("level"),
        max_digits=3,
        decimal_places=1,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(1)), MaxValueValidator(Decimal(10))],
        help_text=_("Empty for clear."),
    )
    tones = models.JSONField(_("tone pigments"), default=dict, blank=True)
    neutral = models.FloatField(_("share of the neutral background"), default=1.0)
    strength = models.FloatField(_("strength learned by this salon"), default=1.0)
    reflectance = models.JSONField(_("measured swatch"), null=True, blank=True)
    tube_grams = models.DecimalField(
        _("grams in a tube"), max_digits=6, decimal_places=1, default=Decimal(60)
    )
    tube_price = models.DecimalField(
        _("price of a tube"), max_digits=8, decimal_places=2, default=Decimal(0)
    )
    reorder_grams = models.DecimalField(
        _("order when less is left, g"),
        max_digits=7,
        decimal_places=1,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(0))],
        help_text=_("Left empty: a third of a tube."),
    )
    # What its label names of dyes that people react to: "PPD", "toluene-2,5-diamine".
    allergens = models.CharField(_("allergen family"), max_length=120, blank=True)
    gtin = models.CharField(
        _("number under the bar code"),
        max_length=14,
        blank=True,
        validators=[RegexValidator(r"\A\d{8,14}\Z", _("Enter the digits under the bar code."))],
    )
    is_active = models.BooleanField(_("in use"), default=True)

    class Meta:
        ordering = ["line", models.F("level").asc(nulls_last=True), "name"]
        constraints = [
            models.UniqueConstraint(fields=["line", "name"], name="shade_name_once_per_line"),
            models.UniqueConstraint(
                fields=["line", "gtin"],
                condition=~Q(gtin=""),
                name="shade_bar_code_once_per_line",
            ),
            models.CheckConstraint(
                condition=Q(level__isnull=True) | Q(level__gte=1, level__lte=10),
                name="shade_level_within_1_to_10",
            ),
            models.CheckConstraint(
                condition=Q(strength__gt=0, neutral__gte=0), name="shade_strength_positive"
            ),
            models.CheckConstraint(
                condition=Q(tube_grams__gt=0, tube_price__gte=0), name="shade_tube_makes_sense"
            ),
            models.CheckConstraint(
                condition=Q(reorder_grams__isnull=True) | Q(reorder_grams__gte=0),
                name="shade_reorder_level_not_negative",
            ),
        ]

    @property
    def salon(self) -> Salon:
        """The salon whose record it is."""
        return self.line.salon

    def __str__(self) -> str:
        return self.name

    @property
    def price_per_gram(self) -> Decimal:
        """What one gram costs, in the salon's currency; 0 where no price is entered."""
        return self.tube_price / self.tube_grams

    @property
    def known_price_per_gram(self) -> Decimal | None:
        """What one gram costs, to be kept with a pour; None where no price is entered."""
        return round(self.price_per_gram, 4) if self.tube_price else None
