"""Sums over a time's visits by line and stylist, from what each keeps; a few queries."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, NamedTuple

from django.db import connection
from django.db.models import Count, DecimalField, Exists, F, OuterRef, Q, Sum, Value
from django.db.models.functions import Coalesce, StrIndex
from django.db.models.lookups import GreaterThan

from consult.history import completeness
from consult.history.names import lines_and_team
from consult.history.question import Whose, visits_of
from consult.models import Place, Visit, VisitFigures
from salon.reading_once import read_once

COUNTED = ("bowls", "weighed")
SUMMED = (
    "grams", "developer_grams", "cost", "unpriced_grams", "unpriced_developer_grams",
    "waste_grams", "waste_cost",
)  # fmt: skip
_MONEY: "DecimalField[Any, Any]" = DecimalField(max_digits=14, decimal_places=4)


class Sums(NamedTuple):
    """What the visits of a line by a stylist add up to.

    `places` counts the visits that chose each place; `values` holds the sums of `COUNTED` and
    `SUMMED` by name.
    """

    line: int
    stylist: int
    visits: int
    coloured: int
    unsigned: int
    untested: int
    redone: int
    overridden: int
    chosen: int
    places: Mapping[str, int]
    values: Mapping[str, Any]


@read_once
def kept(whose: Whose) -> list[Sums]:
    """Return the sums of closed visits that keep their figures."""
    rows = VisitFigures.objects.filter(
        salon=whose.salon, opened_at__gte=whose.since, opened_at__lt=whose.until
    ).order_by()
    if connection.vendor == "sqlite":
        # With all lines and stylists named, SQLite goes through the index in the order of the
        # groups and sorts nothing: a year's rows take twice as long to sort. PostgreSQL groups
        # by hash, and to look the names up costs it a fifth.
        names = lines_and_team(whose.salon)
        rows = rows.filter(line__in=names.lines.keys(), stylist__in=names.staff.keys())
    if whose.stylist:
        rows = rows.filter(stylist=whose.stylist)
    if whose.line:
        rows = rows.filter(line=whose.line)
    if whose.service:
        rows = rows.filter(visit__appointment__service=whose.service)
    has_bowl = Q(bowls__gt=0)
    counts = {
        "n": Count("pk"),
        "n_coloured": Count("pk", filter=has_bowl),
        "n_unsigned": Count("pk", filter=has_bowl & Q(is_signed=False)),
        "n_untested": Count("pk", filter=Q(is_tested=False)),
        "n_redone": Count("pk", filter=Q(is_redone=True)),
        "n_overridden": Count("pk", filter=Q(is_overridden=True)),
        "n_chosen": Count("pk", filter=~Q(places="")),
    }
    places = {f"n_{place}": Count("pk", filter=_chose(place)) for place in Place.values}
    sums = {f"sum_{name}": Coalesce(Sum(name), 0) for name in COUNTED}
    sums |= {f"sum_{name}": total(F(name)) for name in SUMMED}
    found = rows.values_list("line", "stylist").annotate(**counts, **places, **sums)
    first, second = 2 + len(counts), 2 + len(counts) + len(places)
    return [
        Sums._make((
            *row[:first],
            dict(zip(Place.values, row[first:second], strict=True)),
            dict(zip((*COUNTED, *SUMMED), row[second:], strict=True)),
        ))
        for row in found
    ]  # fmt: skip


def _chose(place: str) -> Q:
    """Return whether a place is among those chosen; a pattern takes twice as long."""
    return Q(GreaterThan(StrIndex("places", Value(place)), 0))


class Unkept(NamedTuple):
    """A closed visit that keeps no figures."""

    pk: int
    line: int
    stylist: int
    is_redone: bool


@read_once
def unkept(whose: Whose) -> list[Unkept]:
    """Return the closed visits that keep no figures; one query where there are any."""
    if completeness.all_keep(salon=whose.salon, since=whose.since):
        return []
    visits = visits_of(whose).filter(figures__isnull=True).order_by()
    is_redone = Exists(Visit.objects.filter(corrects=OuterRef("pk")))
    return [Unkept(*row) for row in visits.values_list("pk", "line", "stylist", is_redone)]


def total(what: Any, **how: Any) -> Coalesce:
    """Return a sum as money and weights are kept, 0 over nothing."""
    return Coalesce(Sum(what, **how, output_field=_MONEY), Decimal(0), output_field=_MONEY)
