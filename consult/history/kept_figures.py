"""What closed visits add to sums and comparisons: worked out, kept, compared with the records.

Kept when a visit closes. A visit without (closed by an earlier release, or brought in) is read
from its records wherever figures are asked for; `manage.py visit_figures` keeps them.
"""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from django.db import transaction
from django.db.models import Q, QuerySet

from clients.models import Appointment, Client
from consult.history import conduct, costs, intervals, kept_runs, next_readings
from consult.history.compared import plain_by_visit
from consult.models import Visit, VisitFigures
from salon.models import Salon

SPENT = (
    "bowls", "weighed", "grams", "developer_grams", "cost", "unpriced_grams",
    "unpriced_developer_grams", "waste_grams", "waste_cost",
)  # fmt: skip
# What the records alone say, whenever they are asked.
FIELDS = (*SPENT, "is_signed", "is_redone", "is_overridden", "places", "looks")
# What was known the day it closed; rules, tests and merges since then do not change it.
OF_THAT_DAY = ("is_tested", "days_since", "due_on")
# As the visit itself has them.
COPIED = ("salon_id", "opened_at", "line_id", "stylist_id")
_PLACES, _PIECE = Decimal("0.0001"), 500


def worked_out(pks: Sequence[int], *, salon: Salon) -> list[VisitFigures]:
    """Return the figures of closed visits of a salon from their records, not saved."""
    spent = costs.spent_by_visit(pks)
    compared = plain_by_visit(pks)
    visits = Visit.objects.filter(pk__in=pks)
    rhythm = intervals.spaced(pks, salon=salon)
    followed = set(intervals.followed(visits).values_list("pk", flat=True))
    copied = {row["pk"]: row for row in visits.order_by().values("pk", *COPIED)}
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
                visit_id=row.pk, is_followed=row.pk in followed,
                **{name: copied[row.pk][name] for name in COPIED},
                is_signed=row.is_signed, is_tested=row.is_tested, is_redone=row.is_redone,
                is_overridden=bool(row.override_by),
                days_since=rhythm[row.pk][0], due_on=rhythm[row.pk][1],
                places=",".join(sorted(row.places)), looks=compared.get(row.pk, []), **rounded,
            )
        )  # fmt: skip
    return found


@transaction.atomic(savepoint=False)
def keep(pks: Sequence[int], *, salon: Salon, has_later: bool = True) -> None:
    """Keep the figures of closed visits in place of what was kept.

    Without `has_later` what later visits say of a run stays: where all are gone through,
    each has its own turn. With it, of two visits of one client that close at once the second
    waits, and sees the first.
    """
    if has_later:
        entries = Visit.objects.filter(pk__in=pks).values("client")
        rows = Client.objects.filter(pk__in=entries).order_by("pk")
        list(rows.select_for_update(no_key=True).values_list("pk", flat=True))
    VisitFigures.objects.bulk_create(
        worked_out(pks, salon=salon),
        update_conflicts=True,
        unique_fields=["visit"],
        update_fields=[
            *(name.removesuffix("_id") for name in COPIED), *FIELDS, *OF_THAT_DAY,
            "is_followed",
        ],
    )  # fmt: skip
    kept_runs.keep(kept_runs.with_later(pks) if has_later else pks)
    next_readings.keep({*pks, *next_readings.just_before(pks)} if has_later else pks)
    if has_later:
        earlier = intervals.followed(Visit.objects.filter(client__in=entries))
        VisitFigures.objects.filter(visit__in=earlier, is_followed=False).update(
            is_followed=True
        )


def note_end(visit: Visit) -> None:
    """Keep with the visit before what one that ended without colour has read."""
    next_readings.keep(next_readings.just_before([visit.pk]))


def note_redone(visit: Visit) -> None:
    """Mark a closed visit as redone by another one."""
    VisitFigures.objects.filter(visit=visit).update(is_redone=True)


def note_override(appointment: Appointment) -> None:
    """Mark an appointment's closed visits as allowed in writing; inside of a transaction.

    A visit that is just closing is waited for: neither would see what the other writes.
    """
    visits = Visit.objects.filter(appointment=appointment).order_by("pk")
    pks = [visit.pk for visit in visits.select_for_update(no_key=True)]
    VisitFigures.objects.filter(visit__in=pks).update(is_overridden=True)


def complete(pks: Sequence[int]) -> None:
    """Keep what a later release added to the figures of these visits."""
    kept_runs.keep(pks)
    next_readings.keep(pks)


def missing(salon: Salon) -> Iterator[list[int]]:
    """Yield the ids of closed visits without figures, some at a time."""
    visits = Visit.objects.for_salon(salon).closed().filter(figures__isnull=True)
    return _pieces(visits)


def incomplete(salon: Salon) -> Iterator[list[int]]:
    """Yield the ids of closed visits that keep all but what a later release added."""
    visits = Visit.objects.for_salon(salon).closed()
    lacking = Q(figures__depth_run_below__isnull=True) | Q(figures__faded__isnull=True)
    return _pieces(visits.filter(lacking, figures__isnull=False))


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
    wrong = set(kept_runs.differing(pks, salon=salon))
    wrong |= next_readings.differing(pks, salon=salon)
    now = {row.visit_id: row for row in worked_out(pks, salon=salon)}
    return [
        row.visit_id
        for row in VisitFigures.objects.filter(visit__in=pks).order_by("visit")
        if row.visit_id not in now
        or row.visit_id in wrong
        or row.is_followed is not now[row.visit_id].is_followed
        or any(
            getattr(row, name) != getattr(now[row.visit_id], name)
            for name in (*COPIED, *FIELDS)
        )
    ]
