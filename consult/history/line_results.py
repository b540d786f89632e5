"""Recorded results of a line, as the formulary learns from them."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence

from django.db.models import Prefetch

from clients.people.person import root_id
from consult import zones
from consult.hair.residue import KEEPS_TONER
from consult.history import histories
from consult.history.visit_record import GroupRecord, VisitRecord
from consult.models import HairFacts, Visit, ZoneReading
from consult.visit.bowls import minutes_counted
from formulas.engine_inputs import LastToner, ZoneInput
from formulas.models import ProductLine
from formulas.strength_proposal import Result

# The latest results tell of the line as it is now; older ones of batches long gone.
MOST_VISITS = 150


# So many are read at a time where somebody waits for news of it.
PIECE = 50


def visits_count(line: ProductLine) -> int:
    """Return how many visits `results_of` reads."""
    return len(_latest(line))


def _latest(line: ProductLine) -> list[int]:
    latest = Visit.objects.closed().filter(line=line).order_by("-closed_at")[:MOST_VISITS]
    return list(latest.values_list("pk", flat=True))


def results_of(line: ProductLine, *, seen: Callable[[int], None] | None = None) -> list[Result]:
    """Return the latest results of a line: as read, as poured, as seen; fixed queries.

    `seen` is called with the number of visits read so far.
    """
    pks, size = _latest(line), PIECE if seen else MOST_VISITS
    visits: list[VisitRecord] = []
    for start in range(0, len(pks), size):
        visits += _records(pks[start : start + size])
        if seen:
            seen(len(visits))
    return _results_in_order(sorted(visits, key=lambda record: record.visit.opened_at))


def _records(pks: Sequence[int]) -> list[VisitRecord]:
    readings = Prefetch("zone_readings", ZoneReading.objects.order_by("pk"))
    rows = (
        Visit.objects.filter(pk__in=pks)
        .prefetch_related(readings)
        .prefetch_related(Prefetch("hair_facts", HairFacts.objects.order_by("pk")))
    )
    return histories.records_of(rows)


def _results_in_order(visits: Iterable[VisitRecord]) -> list[Result]:
    found: list[Result] = []
    before: dict[int, list[VisitRecord]] = defaultdict(list)
    for visit_record in visits:
        person = root_id(visit_record.visit.client)
        earlier = before[person][-1] if before[person] else None
        found += _results(visit_record, earlier)
        before[person].append(visit_record)
    return found


def _results(record: VisitRecord, earlier: VisitRecord | None) -> list[Result]:
    """Return what a visit teaches: one mix on the hair, seen, and no reaction to it."""
    found: list[Result] = []
    if record.reaction:
        return found
    for group in record.groups:
        seen = group.result
        if seen is None or not group.is_comparable:
            continue
        if seen.level is None or seen.warmth_left_percent is None:
            continue
        zone = zones.Group(group.zones).last
        row = _reading(record, group, zone)
        if row is None:
            continue
        found.append(
            Result(
                zone=ZoneInput(
                    lifted_level=float(row.lifted_level),
                    undertone=float(row.undertone),
                    white_percent=float(row.white_percent),
                    porosity=float(row.porosity),
                    residual=_residual(record, group, zone, earlier),
                    natural_level=float(row.natural_level),
                ),
                parts=poured(group),
                minutes=minutes_of(group),
                level=float(seen.level),
                warmth_left_percent=float(seen.warmth_left_percent),
                client=str(root_id(record.visit.client)),
                reader=str(seen.seen_by_id),
                zone_reader=str(row.recorded_by_id),
            )
        )
    return found


def _reading(record: VisitRecord, group: GroupRecord, zone: str) -> ZoneReading | None:
    """Return a zone as it was read for the choice that its bowl was mixed under."""
    until = group.place.choice.recorded_at
    rows = [row for row in record.visit.zone_readings.all() if row.zone == zone]
    return next((row for row in reversed(rows) if row.recorded_at <= until), None)


def _residual(
    record: VisitRecord,
    group: GroupRecord,
    zone: str,
    earlier: VisitRecord | None,
) -> LastToner | None:
    """Return the toner that was left, by the washes known when the mix was decided."""
    if earlier is None or group.formula is None or zone not in KEEPS_TONER:
        return None
    known = [
        row
        for row in record.visit.hair_facts.all()
        if row.recorded_at <= group.formula.decided_at
    ]
    washes = known[-1].washes_counted if known else None
    return None if washes is None else _left(earlier, zone, float(washes))


def _left(earlier: VisitRecord, zone: str, washes: float) -> LastToner | None:
    group = next((g for g in earlier.groups if zone in zones.Group(g.zones).members), None)
    if group is None or not group.bowls:
        return None
    return LastToner(parts=poured(group), minutes=minutes_of(group), washes=washes)


def poured(group: GroupRecord) -> tuple[tuple[str, float], ...]:
    """Return what was poured of the last mix; of two bowls of one mix, both."""
    grams: dict[str, float] = {}
    for state in group.bowls:
        if group.formula and state.formula.pk == group.formula.pk:
            for line in state.bowl.lines.all():
                name = line.shade.name
                grams[name] = grams.get(name, 0.0) + float(line.poured_grams)
    return tuple(grams.items())


def minutes_of(group: GroupRecord) -> float:
    """Return how long it was on the hair, within what the engine takes."""
    planned = group.formula.processing_minutes if group.formula else 20
    return float(minutes_counted(group.minutes, planned=planned))
