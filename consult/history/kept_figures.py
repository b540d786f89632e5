"""What closed visits add to sums and comparisons: worked out, kept, compared with the records.

Kept when a visit closes. A visit without (closed by an earlier release, or brought in) is read
from its records wherever figures are asked for; `manage.py visit_figures` keeps them.
"""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from django.db.models import QuerySet

from consult.history import conduct, costs, kept_runs, overdue
from consult.history.compared import plain_by_visit
from consult.models import Visit, VisitFigures
from salon.models import Salon

SPENT = (
    "bowls", "weighed", "grams", "developer_grams", "cost", "unpriced_grams",
    "unpriced_developer_grams", "waste_grams", "waste_cost",
)  # fmt: skip
# What the records alone say, whenever they are asked.
FIELDS = (*SPENT, "is_signed", "places", "looks")
# What was known the day it closed; rules, tests and merges since then do not change it.
OF_THAT_DAY = ("is_tested", "days_since", "due_on")
_PLACES, _PIECE = Decimal("0.0001"), 500


def worked_out(pks: Sequence[int], *, salon: Salon) -> list[VisitFigures]:
    """Return the figures of closed visits of a salon from their records, not saved."""
    spent = costs.spent_by_visit(pks)
    compared = plain_by_visit(pks)
    visits = Visit.objects.filter(pk__in=pks)
    rhythm = overdue.spaced(pks, salon=salon)
    found = []
    for row in conduct.visits_of(visits, salon=salon, most=len(pks), afresh=True):
        own = spent.get(row.pk, costs.Spent())
        sums = {name: getattr(own, name) for name in SPENT}
        rounded = {
            name: value.quantize(_PLACES) if isinstance(value, Decimal) else value
            for name, value in sums.items()
        }
        found.append(
            VisitFigures(
                visit_id=row.pk, is_signed=row.is_signed, is_tested=row.is_tested,
                days_since=rhythm[row.pk][0], due_on=rhythm[row.pk][1],
                places=",".join(sorted(row.places)), looks=compared.get(row.pk, []), **rounded,
            )
        )  # fmt: skip
    return found


def keep(pks: Sequence[int], *, salon: Salon, has_later: bool = True) -> None:
    """Keep the figures of closed visits in place of what was kept.

    Without `has_later` what later visits say of a run stays: where all are gone through,
    each has its own turn.
    """
    VisitFigures.objects.bulk_create(
        worked_out(pks, salon=salon),
        update_conflicts=True,
        unique_fields=["visit"],
        update_fields=[*FIELDS, *OF_THAT_DAY],
    )
    kept_runs.keep(kept_runs.with_later(pks) if has_later else pks)


def missing(salon: Salon) -> Iterator[list[int]]:
    """Yield the ids of closed visits without figures, some at a time."""
    visits = Visit.objects.for_salon(salon).closed().filter(figures__isnull=True)
    return _pieces(visits)


def without_runs(salon: Salon) -> Iterator[list[int]]:
    """Yield the ids of closed visits that keep all but what they say of runs."""
    visits = Visit.objects.for_salon(salon).closed()
    return _pieces(visits.filter(figures__isnull=False, figures__depth_run_below__isnull=True))


def kept(salon: Salon) -> Iterator[list[int]]:
    """Yield the ids of closed visits with figures, some at a time."""
    visits = Visit.objects.for_salon(salon).closed().filter(figures__isnull=False)
    return _pieces(visits)


def _pieces(visits: QuerySet[Visit]) -> Iterator[list[int]]:
    pks, last = visits.order_by("pk").values_list("pk", flat=True), 0
    while piece := list(pks.filter(pk__gt=last)[:_PIECE]):
        yield piece
        last = piece[-1]


def differing(pks: Sequence[int], *, salon: Salon) -> list[int]:
    """Return the visits whose kept figures are not what their records say."""
    runs = set(kept_runs.differing(pks, salon=salon))
    now = {row.visit_id: row for row in worked_out(pks, salon=salon)}
    return [
        row.visit_id
        for row in VisitFigures.objects.filter(visit__in=pks).order_by("visit")
        if row.visit_id not in now
        or row.visit_id in runs
        or any(getattr(row, name) != getattr(now[row.visit_id], name) for name in FIELDS)
    ]
