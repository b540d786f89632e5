"""Whose results may end in a run: what each closed visit keeps, so that few need a look.

Whether a series ends in a run depends on how results scatter in the salon that day. A visit
keeps the scatter below which its person's results may end in one (`control.run_below`): the
page reads the records of those whom today's scatter lets through, and looks for runs again.
"""

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Q

from clients.models import ClientMerge
from clients.people import person
from consult.history import completeness, control, looks
from consult.history.looks import Look, Scatter
from consult.models import Reaction, Visit, VisitFigures
from salon.models import Salon

# What is kept has gone through another sum than what it is compared with.
_ROUNDING = 1e-6


@dataclass(frozen=True)
class Marks:
    """The greatest scatter of depth and of warmth at which somebody's results end in a run."""

    depth: float
    warmth: float


def people_to_look_at(*, salon: Salon, since: dt.datetime, scatter: Scatter) -> set[int]:
    """Return who came since a moment and may have a run that goes on; a few queries.

    Also everyone of whom something changed that closed visits do not know of, and who has a
    visit that keeps nothing yet.
    """
    visits = Visit.objects.for_salon(salon).closed().filter(opened_at__gte=since).order_by()
    own = visits.annotate(person=person.id_through("client"))
    marked = VisitFigures.objects.filter(
        Q(depth_run_below__gt=scatter.depth * (1 - _ROUNDING))
        | Q(warmth_run_below__gt=scatter.warmth * (1 - _ROUNDING))
        | Q(depth_run_below__isnull=True),
        salon=salon,
        opened_at__gte=since,
    ).annotate(person=person.id_through("visit__client"))
    found = set(marked.order_by().values_list("person", flat=True))
    if not completeness.all_keep(salon=salon, since=since):
        unkept = own.filter(figures__isnull=True)
        found |= set(unkept.values_list("person", flat=True))
    changed = changed_people(salon=salon, since=since)
    if changed:
        came = own.filter(person.named_by("client", list(changed)))
        found |= set(came.values_list("person", flat=True))
    return found


def changed_people(*, salon: Salon, since: dt.datetime | None = None) -> set[int]:
    """Return whose results count otherwise than when they closed: merged, apart, reacted."""
    found = merged_people(salon=salon, since=since)
    reactions = Reaction.objects.order_by()
    if since is not None:
        reactions = reactions.filter(recorded_at__gte=since)
    # The reactions first: there are few, and a join may begin with every visit.
    reacted = Visit.objects.for_salon(salon).filter(pk__in=reactions.values("visit"))
    own = reacted.annotate(person=person.id_through("client")).order_by()
    return found | set(own.values_list("person", flat=True))


def merged_people(*, salon: Salon, since: dt.datetime | None = None) -> set[int]:
    """Return whose entries were joined or parted, ever or since a moment."""
    merges = ClientMerge.objects.filter(salon=salon)
    if since is not None:
        merges = merges.filter(Q(merged_at__gte=since) | Q(undone_at__gte=since))
    pairs = merges.annotate(of=person.id_through("kept"), to=person.id_through("merged"))
    return {own for pair in pairs.values_list("of", "to") for own in pair}


def worked_out(pks: Sequence[int]) -> dict[int, Marks]:
    """Return what closed visits would keep, each from its person's results up to it."""
    chosen = Visit.objects.filter(pk__in=pks).annotate(person=person.id_through("client"))
    people = set(chosen.order_by().values_list("person", flat=True))
    wanted, windows = set(pks), {}
    for own in looks.visits_by_person(people).values():
        for place, pk in enumerate(own, start=1):
            if pk in wanted:
                windows[pk] = own[max(0, place - looks.MOST_OF_A_CLIENT) : place]
    seen: dict[int, list[Look]] = defaultdict(list)
    for look in looks.of_visits({visit for window in windows.values() for visit in window}):
        seen[look.visit].append(look)
    return {
        pk: _marks([look for visit in window for look in seen.get(visit, ())])
        for pk, window in windows.items()
    }


def keep(pks: Sequence[int]) -> None:
    """Keep what these visits say now."""
    marks = worked_out(pks)
    kept = list(VisitFigures.objects.filter(visit__in=marks).only("visit"))
    for row in kept:
        mark = marks[row.visit_id]
        row.depth_run_below, row.warmth_run_below = mark.depth, mark.warmth
    VisitFigures.objects.bulk_update(
        kept, ["depth_run_below", "warmth_run_below"], batch_size=200
    )


def with_later(pks: Sequence[int]) -> list[int]:
    """Return visits and their persons' later ones: what these keep counts them, too."""
    if not pks:
        return []
    chosen = Visit.objects.filter(pk__in=pks).annotate(person=person.id_through("client"))
    first: dict[int, dt.datetime] = {}
    for own, at in chosen.order_by().values_list("person", "opened_at"):
        first[own] = min(at, first.get(own, at))
    rows = Visit.objects.closed().filter(person.named_by("client", list(first)))
    later = rows.annotate(person=person.id_through("client")).filter(
        opened_at__gte=min(first.values()), figures__isnull=False
    )
    return [
        pk
        for pk, own, at in later.order_by().values_list("pk", "person", "opened_at")
        if at >= first[own]
    ]


def differing(pks: Sequence[int], *, salon: Salon) -> list[int]:
    """Return the visits that keep something else than their results say, but of the changed."""
    changed = changed_people(salon=salon)
    rows: Any = (
        VisitFigures.objects.filter(visit__in=pks, depth_run_below__isnull=False)
        .annotate(person=person.id_through("visit__client"))
        .values_list("visit", "person", "depth_run_below", "warmth_run_below")
    )
    marks = worked_out(pks)
    return [
        visit
        for visit, own, depth, warmth in rows
        if own not in changed
        and not (
            math.isclose(depth, marks[visit].depth, abs_tol=1e-9)
            and math.isclose(warmth, marks[visit].warmth, abs_tol=1e-9)
        )
    ]


def _marks(rows: Iterable[Look]) -> Marks:
    every = looks.series_of(rows)
    return Marks(
        max((control.run_below(series.depth_errors) for series in every), default=0.0),
        max((control.run_below(series.warmth_errors) for series in every), default=0.0),
    )
