from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from consult.models.formula import Formula
from consult.models.visit import Visit
from formulas.models import Shade
from salon.append_only import AppendOnlyModel


class BowlMixed(AppendOnlyModel):
    """A bowl as it was weighed, which may differ from its formula."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="bowls")
    formula = models.ForeignKey(Formula, on_delete=models.PROTECT, related_name="bowls")
    number = models.PositiveSmallIntegerField()
    developer_grams = models.DecimalField(_("developer, g"), max_digits=6, decimal_places=1)
    developer_batch = models.CharField(_("developer batch"), max_length=40, blank=True)
    strength_percent = models.DecimalField(
        _("peroxide in the mixture, %"), max_digits=4, decimal_places=2
    )
    note = models.CharField(_("note"), max_length=200, blank=True)
    mixed_at = models.DateTimeField()
    mixed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["visit", "number"], name="bowl_number_once"),
            models.CheckConstraint(
                condition=Q(developer_grams__gte=0), name="bowl_developer_not_negative"
            ),
            models.CheckConstraint(
                condition=Q(strength_percent__gte=0, strength_percent__lte=12),
                name="bowl_peroxide_within_the_limit",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.visit_id} bowl {self.number}"


class BowlLine(AppendOnlyModel):
    """What the scale showed of one shade, beside what was planned."""

    bowl = models.ForeignKey(BowlMixed, on_delete=models.PROTECT, related_name="lines")
    shade = models.ForeignKey(Shade, on_delete=models.PROTECT, related_name="+")
    planned_grams = models.DecimalField(max_digits=6, decimal_places=1)
    poured_grams = models.DecimalField(max_digits=6, decimal_places=1)
    batch = models.CharField(_("batch"), max_length=40, blank=True)

    class Meta(AppendOnlyModel.Meta):
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["bowl", "shade"], name="bowl_shade_once"),
            models.CheckConstraint(
                condition=Q(poured_grams__gt=0, planned_grams__gt=0),
                name="bowl_grams_above_zero",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.poured_grams} g {self.shade}"


class MarkKind(models.TextChoices):
    """Which end of the processing time."""

    START = "start", _("start of processing")
    END = "end", _("rinsed")


class ProcessingMark(AppendOnlyModel):
    """When a bowl's processing started, or ended; one of each."""

    bowl = models.ForeignKey(BowlMixed, on_delete=models.PROTECT, related_name="marks")
    kind = models.CharField(max_length=5, choices=MarkKind.choices)
    marked_at = models.DateTimeField()
    # A copy of the start, so that the database itself can refuse an end before it.
    started_at = models.DateTimeField()
    marked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["marked_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["bowl", "kind"], name="processing_mark_once"),
            models.CheckConstraint(
                condition=Q(kind="start", marked_at=F("started_at"))
                | Q(kind="end", marked_at__gte=F("started_at")),
                name="processing_ends_after_it_started",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.bowl_id} {self.kind}"
