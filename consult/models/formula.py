"""Formulas of a visit, every revision with its shades."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from consult.models.sign_off import SignOff
from consult.models.visit import Visit
from consult.zones import GROUPS
from formulas.mixing import PEROXIDE_LIMIT_PERCENT
from formulas.models import ProductLine, Shade
from salon.append_only import AppendOnlyModel

MOST_PERCENT = int(PEROXIDE_LIMIT_PERCENT)


class Source(models.TextChoices):
    """Where a formula came from."""

    SUGGESTED = "suggested", _("taken as suggested")
    CHANGED = "changed", _("suggestion, changed by the stylist")
    REPEATED = "repeated", _("same as the last visit")
    OWN = "own", _("the stylist's own")


class Formula(AppendOnlyModel):
    """What will be mixed for a group of zones: one revision; earlier ones stay."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="formulas")
    sign_off = models.ForeignKey(SignOff, on_delete=models.PROTECT, related_name="formulas")
    line = models.ForeignKey(ProductLine, on_delete=models.PROTECT, related_name="+")
    zones = models.CharField(max_length=40)
    revision = models.PositiveSmallIntegerField()
    source = models.CharField(max_length=10, choices=Source.choices)
    bowl_grams = models.DecimalField(
        _("bowl with developer, g"), max_digits=6, decimal_places=1
    )
    developer_grams = models.DecimalField(_("developer, g"), max_digits=6, decimal_places=1)
    developer_ratio = models.DecimalField(max_digits=3, decimal_places=2)
    developer_percent = models.DecimalField(max_digits=4, decimal_places=2)
    processing_minutes = models.PositiveSmallIntegerField(_("processing time, minutes"))
    # Where one bowl serves several places: those it stays on for fewer minutes. They are put
    # on last, since nobody can rinse one part while another goes on.
    zone_minutes = models.JSONField(default=dict, blank=True)
    predicted = models.JSONField()
    reasons = models.JSONField(default=list)
    engine_version = models.CharField(max_length=40)
    data_version = models.CharField(max_length=80)
    policy_number = models.PositiveIntegerField()
    decided_at = models.DateTimeField()
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["visit", "zones", "revision"], name="formula_revision_once"
            ),
            models.CheckConstraint(condition=Q(zones__in=GROUPS), name="formula_zones_known"),
            models.CheckConstraint(
                condition=Q(source__in=Source.values), name="formula_source_known"
            ),
            models.CheckConstraint(
                condition=Q(bowl_grams__gt=0, bowl_grams__lte=1000, processing_minutes__gt=0),
                name="formula_weight_and_time_make_sense",
            ),
            models.CheckConstraint(
                condition=Q(developer_percent__gte=0, developer_percent__lte=MOST_PERCENT)
                & Q(developer_ratio__gt=0, developer_grams__gte=0),
                name="formula_peroxide_within_the_limit",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.visit_id} {self.zones} {self.revision}"


class FormulaLine(AppendOnlyModel):
    """One shade of a formula."""

    formula = models.ForeignKey(Formula, on_delete=models.PROTECT, related_name="lines")
    shade = models.ForeignKey(Shade, on_delete=models.PROTECT, related_name="+")
    parts = models.DecimalField(_("parts"), max_digits=5, decimal_places=2)
    grams = models.DecimalField(_("grams"), max_digits=6, decimal_places=1)
    shade_name = models.CharField(max_length=60, blank=True)  # when it was decided

    class Meta(AppendOnlyModel.Meta):
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["formula", "shade"], name="formula_shade_once"),
            models.CheckConstraint(
                condition=Q(parts__gt=0, grams__gt=0), name="formula_parts_above_zero"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.parts} {self.name}"

    @property
    def name(self) -> str:
        """The shade's name when the formula was decided."""
        return self.shade_name or self.shade.name
