"""Recorded results of a line, as the formulary learns from them."""

from collections import defaultdict

from django.db.models import Prefetch

from clients.people.person import root_id
from consult import zones
from consult.bench.outcome import minutes_on
from consult.hair.residue import KEEPS_TONER
from consult.history import histories
from consult.models import HairFacts, Visit, ZoneReading
from formulas.engine_inputs import LastToner, ZoneInput
from formulas.models import ProductLine
from formulas.strength_proposal import Result

# The latest results tell of the line as it is now; older ones of batches long gone.
MOST_VISITS = 150


def results_of(line: ProductLine) -> list[Result]:
    """Return the latest results of a line: as read, as poured, as seen; fixed queries."""
    latest = Visit.objects.closed().filter(line=line).order_by("-closed_at")[:MOST_VISITS]
    pks = list(latest.values_list("pk", flat=True))
    rows = Visit.objects.filter(pk__in=pks).prefetch_related(
        Prefetch("zone_readings", ZoneReading.objects.order_by("pk")),
        Prefetch("hair_facts", HairFacts.objects.order_by("pk")),
    )
    visits = sorted(histories.told(rows), key=lambda one: one.visit.opened_at)
    found: list[Result] = []
    before: dict[int, list[histories.ToldVisit]] = defaultdict(list)
    for one in visits:
        person = root_id(one.visit.client)
        earlier = before[person][-1] if before[person] else None
        found += _results(one, earlier)
        before[person].append(one)
    return found


def _results(one: histories.ToldVisit, earlier: histories.ToldVisit | None) -> list[Result]:
    readings = {row.zone: row for row in one.visit.zone_readings.all()}
    facts = next(reversed(list(one.visit.hair_facts.all())), None)
    washes = facts.washes_counted if facts else None
    found = []
    for group in one.groups:
        zone = zones.split(group.zones)[-1]
        seen = group.result
        if seen is None or group.bowl is None or zone not in readings:
            continue
        if seen.level is None or seen.warmth_left_percent is None:
            continue
        row = readings[zone]
        left = None
        if washes is not None and earlier and zone in KEEPS_TONER:
            left = _left(earlier, zone, float(washes))
        found.append(
            Result(
                zone=ZoneInput(
                    lifted_level=float(row.lifted_level),
                    undertone=float(row.undertone),
                    white_percent=float(row.white_percent),
                    porosity=float(row.porosity),
                    residual=left,
                    natural_level=float(row.natural_level),
                ),
                parts=poured(group),
                minutes=minutes_of(group),
                level=float(seen.level),
                warmth_left_percent=float(seen.warmth_left_percent),
                client=str(root_id(one.visit.client)),
                reader=str(seen.seen_by_id),
                zone_reader=str(row.recorded_by_id),
            )
        )
    return found


def _left(earlier: histories.ToldVisit, zone: str, washes: float) -> LastToner | None:
    group = next((g for g in earlier.groups if zone in zones.split(g.zones)), None)
    if group is None or group.bowl is None:
        return None
    return LastToner(parts=poured(group), minutes=minutes_of(group), washes=washes)


def poured(group: histories.ToldGroup) -> tuple[tuple[str, float], ...]:
    """Return what a group's bowl held, grams by shade name."""
    lines = group.bowl.lines.all() if group.bowl else []
    return tuple((line.shade.name, float(line.poured_grams)) for line in lines)


def minutes_of(group: histories.ToldGroup) -> float:
    """Return how long it was on the hair, within what the engine takes."""
    planned = group.formula.processing_minutes if group.formula else 20
    return float(minutes_on(group.minutes, planned))
