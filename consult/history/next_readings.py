"""What hair read when its person came again, as plain lists: read from records, or kept.

Only zones of which a result was compared, and where nothing lightened or cleansed them before
the next visit read them. A reading is lifted level, undertone and white hair in per cent.
"""

import datetime as dt
from collections.abc import Collection, Iterable, Mapping
from typing import Any

from django.db.models import F

from clients.people import person
from consult import zones
from consult.history import completeness
from consult.history.compared import plain_by_visit
from consult.history.kept_runs import merged_people
from consult.models import ENDED, StepKind, Visit, VisitFigures, VisitStep, ZoneReading
from formulas.later_readings import Read
from salon.models import Salon

# Days until the next visit, then each zone with its reading before and after; nothing where
# nobody came again.
Plain = list[Any]


def read_next(
    zones_of: Mapping[int, Collection[str]], *, only_ended: bool = False
) -> dict[int, Plain]:
    """Return what these zones of visits read at their persons' next visit; four queries."""
    following = _following(zones_of, only_ended=only_ended)
    after = {pk for pk, _days in following.values()}
    read = _readings(after | following.keys())
    treated = _treated(after)
    found: dict[int, Plain] = {}
    for visit, seen_on in zones_of.items():
        if visit not in following:
            found[visit] = []
            continue
        later, days = following[visit]
        pairs = []
        for zone in seen_on:
            then, now = read.get((visit, zone)), read.get((later, zone))
            if then and now and now[1] <= treated.get((later, zone), now[1]):
                pairs.append([zone, list(then[0]), list(now[0])])
        found[visit] = [days, pairs]
    return found


def worked_out(pks: Collection[int]) -> dict[int, Plain]:
    """Return what closed visits would keep: of the next visit only once it has ended."""
    zones_of = {
        visit: sorted({plain[1] for plain in own} - {zones.Zone.ROOTS.value})
        for visit, own in plain_by_visit(list(pks)).items()
    }
    found = read_next({visit: own for visit, own in zones_of.items() if own}, only_ended=True)
    return {pk: found.get(pk, []) for pk in pks}


def keep(pks: Collection[int]) -> None:
    """Keep what these closed visits say now, of those that keep anything."""
    now = worked_out(pks)
    rows = list(VisitFigures.objects.filter(visit__in=now).only("visit", "faded"))
    changed = [row for row in rows if row.faded != now[row.visit_id]]
    for row in changed:
        row.faded = now[row.visit_id]
    VisitFigures.objects.bulk_update(changed, ["faded"], batch_size=200)


def just_before(pks: Collection[int]) -> set[int]:
    """Return the visits that these ended visits come next after; two queries."""
    chosen = Visit.objects.filter(pk__in=pks).annotate(person=person.id_through("client"))
    people = set(chosen.order_by().values_list("person", flat=True))
    wanted, found = set(pks), set()
    last: dict[int, int] = {}
    rows = Visit.objects.filter(person.named_by("client", list(people)), status__in=ENDED)
    for pk, own in (
        rows.annotate(person=person.id_through("client"))
        .order_by("opened_at", "pk")
        .values_list("pk", "person")
    ):
        if pk in wanted and own in last:
            found.add(last[own])
        last[own] = pk
    return found


def unsettled(*, salon: Salon, since: dt.datetime) -> set[int]:
    """Return whose next visits are not those that their visits keep; a few queries.

    Who is in the chair now, whose entries were ever joined, and, for visits since a moment,
    who has one that keeps nothing yet.
    """
    visits = Visit.objects.for_salon(salon).order_by()
    chosen = visits.open()
    if not completeness.all_keep(salon=salon, since=since):
        chosen |= visits.closed().filter(opened_at__gte=since, figures__isnull=True)
    own = chosen.annotate(person=person.id_through("client"))
    return set(own.values_list("person", flat=True)) | merged_people(salon=salon)


def differing(pks: Collection[int], *, salon: Salon) -> set[int]:
    """Return the visits that keep something else than records say, but of the merged."""
    rows = (
        VisitFigures.objects.filter(visit__in=pks, faded__isnull=False)
        .annotate(person=person.id_through("visit__client"))
        .values_list("visit", "person", "faded")
    )
    now, merged = worked_out(pks), merged_people(salon=salon)
    return {visit for visit, own, kept in rows if own not in merged and kept != now[visit]}


def _following(visits: Iterable[int], *, only_ended: bool) -> dict[int, tuple[int, int]]:
    """Return the same person's next visit after each of these, with the days until it."""
    wanted = set(visits)
    own = Visit.objects.filter(pk__in=wanted).annotate(person=person.id_through("client"))
    came = list(own.order_by().values_list("person", "opened_at"))
    if not came:
        return {}
    rows = Visit.objects.filter(
        person.named_by("client", {pk for pk, _at in came}),
        opened_at__gte=min(at for _pk, at in came),
    ).annotate(person=person.id_through("client"))
    if only_ended:
        rows = rows.filter(status__in=ENDED)
    last: dict[int, tuple[int, dt.datetime]] = {}
    found = {}
    for pk, visit, at in rows.order_by("opened_at", "pk").values_list(
        "person", "pk", "opened_at"
    ):
        if pk in last and last[pk][0] in wanted:
            found[last[pk][0]] = visit, (at - last[pk][1]).days
        last[pk] = visit, at
    return found


def _readings(visits: Iterable[int]) -> dict[tuple[int, str], tuple[Read, dt.datetime]]:
    """Return each zone as it was read first at each visit, and when."""
    rows = ZoneReading.objects.filter(visit__in=visits).order_by("-pk")
    return {
        (visit, zone): ((float(level), float(undertone), float(white)), at)
        for visit, zone, level, undertone, white, at in rows.values_list(
            "visit", "zone", "lifted_level", "undertone", "white_percent", "recorded_at"
        )
    }


def _treated(visits: Iterable[int]) -> dict[tuple[int, str], dt.datetime]:
    """Return when a zone was first lightened or cleansed at a visit."""
    rows = VisitStep.objects.filter(
        visit__in=visits,
        kind__in=[StepKind.LIGHTENING, StepKind.CLEANSING],
        is_taken_back=False,
        replaced_by__isnull=True,
    ).order_by("-ended_at")
    return {
        (visit, zone): at
        for visit, key, at in rows.values_list("visit", "zones", F("ended_at"))
        for zone in zones.Group(key).members
    }
