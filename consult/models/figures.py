"""A closed visit's figures for sums and comparisons."""

from decimal import Decimal
from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import Q

from consult.models.visit import Visit
from formulas.models import ProductLine
from salon.models import Salon

_ADDED_UP = (
    "bowls", "weighed", "grams", "developer_grams", "cost", "unpriced_grams",
    "unpriced_developer_grams", "waste_grams", "waste_cost", "is_signed", "is_tested",
    "is_redone", "is_overridden", "places",
)  # fmt: skip
# What else is read of all of a time: its rhythm, and whose results may end in a run.
_OTHERS = ("days_since", "depth_run_below", "warmth_run_below")


def _sum() -> "models.DecimalField[Any, Any]":
    return models.DecimalField(max_digits=14, decimal_places=4, default=Decimal(0))


class VisitFigures(models.Model):
    """What a closed visit adds to sums and comparisons, worked out once when it closes.

    Everything in it follows from records that nobody changes afterwards. Who the person is
    and who reacted later is read beside it. Costs are as priced at the pour.
    """

    visit = models.OneToOneField(Visit, on_delete=models.PROTECT, related_name="figures")
    # As the visit has them, so that sums of a time read this table alone.
    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="+", db_index=False)
    opened_at = models.DateTimeField()
    line = models.ForeignKey(
        ProductLine, on_delete=models.PROTECT, related_name="+", db_index=False
    )
    stylist = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", db_index=False
    )
    bowls = models.PositiveSmallIntegerField(default=0)
    weighed = models.PositiveSmallIntegerField(default=0)
    grams = _sum()
    developer_grams = _sum()
    cost = _sum()
    unpriced_grams = _sum()
    unpriced_developer_grams = _sum()
    waste_grams = _sum()
    waste_cost = _sum()
    is_signed = models.BooleanField(default=False)
    # As its own day judged it: what was on record, by the rules then in force.
    is_tested = models.BooleanField(default=False)
    # As far as was known that day: since the person's visit before, and when the next is due
    # (as agreed, else by their own rhythm).
    days_since = models.PositiveIntegerField(null=True)
    due_on = models.DateField(null=True)
    # Whether a later visit of the same entry is known to have closed: true for ever.
    is_followed = models.BooleanField(default=False)
    # Whether another visit redid it, and whether an owner allowed it in writing without a
    # valid patch test. Either may come after it has closed; true for ever.
    is_redone = models.BooleanField(default=False)
    is_overridden = models.BooleanField(default=False)
    places = models.CharField(max_length=40, blank=True)  # of the latest choice, by commas
    # Each zone beside its prediction, as `consult.history.compared` writes it.
    looks = models.JSONField(default=list)
    # What the person's next visit read of the same hair, as `consult.history.next_readings`
    # writes it; nothing where not worked out.
    faded = models.JSONField(null=True)

    # The greatest scatter of one result, levels and points, at which the person's results up to
    # here end in a run (`consult.history.control`); 0 for none, nothing where not worked out.
    depth_run_below = models.FloatField(null=True)
    warmth_run_below = models.FloatField(null=True)

    class Meta:
        indexes = [
            # Every column that is added up or counted, in the order of the groups: a year's
            # sums are read from it alone, and nothing is sorted.
            models.Index(
                fields=["salon", "line", "stylist", "opened_at", *_ADDED_UP],
                name="figures_summed_by_group",
            ),
            models.Index(fields=["salon", "opened_at", *_OTHERS], name="figures_by_time"),
            models.Index(
                fields=["salon", "opened_at", "due_on"],
                condition=Q(is_followed=False),
                name="figures_of_latest",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.visit_id}: {self.bowls}"
