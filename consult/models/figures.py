"""A closed visit's figures for sums and comparisons."""

from decimal import Decimal
from typing import Any

from django.db import models

from consult.models.visit import Visit


def _sum() -> "models.DecimalField[Any, Any]":
    return models.DecimalField(max_digits=14, decimal_places=4, default=Decimal(0))


class VisitFigures(models.Model):
    """What a closed visit adds to sums and comparisons, worked out once when it closes.

    Everything in it follows from records that nobody changes afterwards. Who the person is,
    what was redone and who reacted later is read beside it. Costs are as priced at the pour.
    """

    visit = models.OneToOneField(Visit, on_delete=models.PROTECT, related_name="figures")
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
    places = models.CharField(max_length=40, blank=True)  # of the latest choice, by commas
    # Each zone beside its prediction, as `consult.history.compared` writes it.
    looks = models.JSONField(default=list)

    # The greatest scatter of one result, levels and points, at which the person's results up to
    # here end in a run (`consult.history.control`); 0 for none, nothing where not worked out.
    depth_run_below = models.FloatField(null=True)
    warmth_run_below = models.FloatField(null=True)

    def __str__(self) -> str:
        return f"{self.visit_id}: {self.bowls}"
