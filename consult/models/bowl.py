"""Bowls as they were weighed, when they processed, and how they were checked."""

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from clients.sealed.fields import SealedTextField
from consult.models.formula import Formula
from consult.models.visit import Visit
from consult.zones import Group
from formulas.mixing import PEROXIDE_LIMIT_PERCENT
from formulas.models import Shade
from salon.append_only import AppendOnlyModel, AppendOnlyQuerySet
from salon.models import Salon

MOST_PERCENT = int(PEROXIDE_LIMIT_PERCENT)
MOST_GRAMS = Decimal("999.9")  # what a bowl or its developer may weigh


class BowlMixed(AppendOnlyModel):
    """A bowl as it was weighed, which may differ from its formula."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="bowls")
    formula = models.ForeignKey(Formula, on_delete=models.PROTECT, related_name="bowls")
    number = models.PositiveSmallIntegerField()
    developer_grams = models.DecimalField(_("developer, g"), max_digits=6, decimal_places=1)
    developer_batch = models.CharField(_("developer batch"), max_length=40, blank=True)
    # What its bottle says; bowls of earlier releases have it in their formula only.
    developer_percent = models.DecimalField(
        _("developer, % peroxide"), max_digits=4, decimal_places=2, null=True, blank=True
    )
    strength_percent = models.DecimalField(
        _("peroxide in the mixture, %"), max_digits=4, decimal_places=2
    )
    # Where the developer was made from a stronger bottle: that one, and what thinned it.
    stock_percent = models.DecimalField(
        _("stronger bottle, % peroxide"), max_digits=4, decimal_places=2, null=True, blank=True
    )
    stock_grams = models.DecimalField(
        _("of the stronger bottle, g"), max_digits=6, decimal_places=1, null=True, blank=True
    )
    thinner_percent = models.DecimalField(
        _("diluted with, % peroxide"), max_digits=4, decimal_places=2, null=True, blank=True
    )
    thinner_grams = models.DecimalField(
        _("of the diluting bottle, g"), max_digits=6, decimal_places=1, null=True, blank=True
    )
    # As they were at the pour: renaming or repricing changes no past bowl.
    line_name = models.CharField(max_length=80, blank=True)
    developer_price_per_gram = models.DecimalField(
        max_digits=10, decimal_places=4, null=True, blank=True
    )
    note = SealedTextField(_("note"), of="visit.client", max_length=200, blank=True)
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
                condition=Q(strength_percent__gte=0, strength_percent__lte=MOST_PERCENT),
                name="bowl_peroxide_within_the_limit",
            ),
            models.CheckConstraint(
                condition=Q(developer_percent__isnull=True)
                | Q(developer_percent__gte=0, developer_percent__lte=MOST_PERCENT),
                name="bowl_developer_within_the_limit",
            ),
            models.CheckConstraint(
                condition=Q(
                    stock_percent__isnull=True,
                    stock_grams__isnull=True,
                    thinner_percent__isnull=True,
                    thinner_grams__isnull=True,
                )
                | Q(
                    stock_percent__isnull=False,
                    thinner_percent__isnull=False,
                    stock_grams__isnull=False,
                    thinner_grams__isnull=False,
                    stock_percent__gt=F("thinner_percent"),
                    thinner_percent__gte=0,
                    stock_grams__gte=0,
                    thinner_grams__gte=0,
                ),
                name="bowl_developer_made_from_two",
            ),
        ]

    @property
    def salon(self) -> Salon:
        """The salon whose record it is."""
        return self.visit.salon

    def __str__(self) -> str:
        return f"{self.visit_id} bowl {self.number}"

    @property
    def poured_ratio(self) -> Decimal | None:
        """Developer per part of colour as it was poured, to hundredths; None without lines."""
        colour = sum((line.poured_grams for line in self.lines.all()), Decimal(0))
        return round(self.developer_grams / colour, 2) if colour else None

    @property
    def total_grams(self) -> Decimal:
        """What was in the bowl, colour and developer."""
        return sum((line.poured_grams for line in self.lines.all()), self.developer_grams)

    def minutes_on(self, zones: str) -> int | None:
        """Return how long it was on some zones: put on later or rinsed sooner than others."""
        marks = {mark.kind: mark.marked_at for mark in self.marks.all()}
        start, end = marks.get(MarkKind.START), marks.get(MarkKind.END)
        wanted = set(Group(zones).members)
        for check in self.checks.all():
            if check.seen == Seen.ON and wanted <= set(Group(check.zones).members):
                start = check.checked_at
            if check.seen == Seen.RINSED and wanted <= set(Group(check.zones).members):
                end = check.checked_at
        return round((end - start).total_seconds() / 60) if start and end else None


class BowlLine(AppendOnlyModel):
    """What the scale showed of one shade, beside what was planned."""

    bowl = models.ForeignKey(BowlMixed, on_delete=models.PROTECT, related_name="lines")
    shade = models.ForeignKey(Shade, on_delete=models.PROTECT, related_name="+")
    planned_grams = models.DecimalField(max_digits=6, decimal_places=1)
    poured_grams = models.DecimalField(max_digits=6, decimal_places=1)
    batch = models.CharField(_("batch"), max_length=40, blank=True)
    # As it was called and what it cost at the pour; without a price: none was entered.
    shade_name = models.CharField(max_length=60, blank=True)
    price_per_gram = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)

    class Meta(AppendOnlyModel.Meta):
        ordering = ["pk"]
        indexes = [
            # Few enter batches: without an index of those few, PostgreSQL reads every salon's.
            models.Index(
                fields=["shade", "id"], condition=~Q(batch=""), name="bowl_line_by_batch"
            ),
        ]
        constraints = [
            models.UniqueConstraint(fields=["bowl", "shade"], name="bowl_shade_once"),
            models.CheckConstraint(
                condition=Q(poured_grams__gt=0, planned_grams__gt=0),
                name="bowl_grams_above_zero",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.poured_grams} g {self.name}"

    @property
    def name(self) -> str:
        """The shade's name at the pour."""
        return self.shade_name or self.shade.name


class MarkKind(models.TextChoices):
    """Which end of the processing time."""

    START = "start", _("start of processing")
    END = "end", _("rinsed")


class MarksInForce(models.Manager.from_queryset(AppendOnlyQuerySet)):  # type: ignore[misc]
    """The marks that count: not those of a rinse that was undone."""

    def get_queryset(self) -> "AppendOnlyQuerySet[ProcessingMark]":
        found: AppendOnlyQuerySet[ProcessingMark] = (
            super().get_queryset().filter(undone__isnull=True)
        )
        return found


class ProcessingMark(AppendOnlyModel):
    """When a bowl's processing started, or ended; one of each that counts.

    `number` tells a rinse from those that were undone before it. `bowl.marks` and `objects`
    leave those out, `everything` does not.
    """

    objects = MarksInForce()  # type: ignore[misc]
    everything = AppendOnlyQuerySet.as_manager()

    bowl = models.ForeignKey(BowlMixed, on_delete=models.PROTECT, related_name="marks")
    kind = models.CharField(max_length=5, choices=MarkKind.choices)
    number = models.PositiveSmallIntegerField(default=1)
    marked_at = models.DateTimeField()
    # A copy of the start, so that the database itself can refuse an end before it.
    started_at = models.DateTimeField()
    marked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        base_manager_name = "everything"
        ordering = ["marked_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["bowl", "kind", "number"], name="processing_mark_once"
            ),
            models.CheckConstraint(
                condition=Q(kind="start", marked_at=F("started_at"))
                | Q(kind="end", marked_at__gte=F("started_at")),
                name="processing_ends_after_it_started",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.bowl_id} {self.kind}"


class Seen(models.TextChoices):
    """What a look at a processing bowl showed."""

    WARM = "warm", _("still too warm")
    NEARLY = "nearly", _("nearly there")
    THERE = "there", _("there")
    ON = "on", _("this part is on")
    RINSED = "rinsed", _("this part is rinsed")


class ProcessingCheck(AppendOnlyModel):
    """A look while a bowl processes: at which mark, what was seen, and where."""

    bowl = models.ForeignKey(BowlMixed, on_delete=models.PROTECT, related_name="checks")
    mark_minutes = models.PositiveSmallIntegerField(null=True, blank=True)
    zones = models.CharField(max_length=40, blank=True)  # empty: all that the bowl serves
    seen = models.CharField(max_length=6, choices=Seen.choices)
    checked_at = models.DateTimeField()
    # A copy of the start, so that the database itself can refuse a look before it.
    started_at = models.DateTimeField()
    checked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["checked_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(seen__in=Seen.values), name="processing_check_seen_known"
            ),
            models.CheckConstraint(
                condition=Q(checked_at__gte=F("started_at")),
                name="processing_check_after_the_start",
            ),
            models.CheckConstraint(
                condition=~Q(seen__in=["on", "rinsed"]) | ~Q(zones=""),
                name="processing_rinsed_names_zones",
            ),
            models.UniqueConstraint(
                fields=["bowl", "zones"],
                condition=Q(seen="rinsed"),
                name="processing_zones_rinsed_once",
            ),
            models.UniqueConstraint(
                fields=["bowl", "zones"],
                condition=Q(seen="on"),
                name="processing_zones_on_once",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.bowl_id} {self.seen}"
