"""A client's earlier tonings with one line, by zone: for the next mix and the history."""

import datetime as dt
from collections.abc import Sequence
from decimal import Decimal
from itertools import takewhile

from django.db.models import Prefetch, prefetch_related_objects

from consult import zones
from consult.hair.residue import KEEPS_TONER
from consult.history import histories
from consult.history.line_results import minutes_of, poured
from consult.models import HairFacts, Visit, ZoneReading
from formulas.earlier_visits import Earlier, PastToning, earlier
from formulas.engine_inputs import ZoneInput
from formulas.models import ProductLine
from formulas.washes import washes_since
from salon.reading_once import read_once

# Visits before these say little: their toner is gone, and hair changes.
MOST_VISITS = 5


@read_once
def for_next_mix(visit: Visit, *, at: dt.datetime) -> dict[str, Earlier]:
    """Return by zone what earlier visits mean for a mix of this visit."""
    rows = Visit.objects.closed_before(visit)[:MOST_VISITS]
    records = _unbroken(histories.records_of(rows), visit.line_id)
    if not records:
        return {}
    facts = visit.hair_facts.order_by("-pk").first()
    known = facts.washes_counted if facts else None
    washes = None if known is None else float(known)
    found = _by_zone(records, visit.line, washes=washes, at=at)
    if known is not None:
        return found
    # How often it was washed was not noted: what is left is not guessed.
    return {
        zone: Earlier(None, earlier.take, earlier.take_doubt, earlier.sentences)
        for zone, earlier in found.items()
    }


def outlook(latest: Sequence[histories.VisitRecord], *, at: dt.datetime) -> dict[str, Earlier]:
    """Return by zone what a client's visits, the latest first, say of repeating the last."""
    if not latest:
        return {}
    line = latest[0].visit.line
    return _by_zone(_unbroken(latest[:MOST_VISITS], line.pk), line, washes=None, at=at)


def _unbroken(
    latest: Sequence[histories.VisitRecord], line_id: int
) -> list[histories.VisitRecord]:
    """Return the last visits up to one with another line, the oldest first."""
    same = takewhile(lambda record: record.visit.line_id == line_id, latest)
    return list(same)[::-1]


def _by_zone(
    records: list[histories.VisitRecord],
    line: ProductLine,
    *,
    washes: float | None,
    at: dt.datetime,
) -> dict[str, Earlier]:
    prefetch_related_objects(
        [record.visit for record in records],
        Prefetch("zone_readings", ZoneReading.objects.order_by("pk")),
        Prefetch("hair_facts", HairFacts.objects.order_by("pk")),
    )
    rows = {zone: _tonings(records, zone, washes=washes, at=at) for zone in zones.IN_ORDER}
    return earlier(line=line, tonings={zone: row for zone, row in rows.items() if row})


def _tonings(
    records: list[histories.VisitRecord], zone: str, *, washes: float | None, at: dt.datetime
) -> tuple[PastToning, ...]:
    found = []
    for n, record in enumerate(records):
        reading = {row.zone: row for row in record.visit.zone_readings.all()}.get(zone)
        group = next((g for g in record.groups if zone in zones.Group(g.zones).members), None)
        if reading is None or group is None or group.bowl is None:
            continue
        found.append(
            PastToning(
                zone=ZoneInput(
                    float(reading.lifted_level),
                    float(reading.undertone),
                    float(reading.white_percent),
                    float(reading.porosity),
                    natural_level=float(reading.natural_level),
                ),
                parts=poured(group),
                minutes=minutes_of(group),
                washes_since=_washes(records, n, washes=washes, at=at),
                level=_number(group.result.level if group.result else None),
                warmth_left_percent=_number(
                    group.result.warmth_left_percent if group.result else None
                ),
                keeps_toner=zone in KEEPS_TONER,
            )
        )
    return tuple(found)


def _washes(
    records: list[histories.VisitRecord], n: int, *, washes: float | None, at: dt.datetime
) -> float:
    """Return the washes after a visit: as noted at the next one, or two a week."""
    closed = records[n].visit.closed_at or records[n].visit.opened_at
    if n + 1 == len(records):
        return washes_since(last=closed, now=at) if washes is None else washes
    following = records[n + 1].visit
    facts = next(reversed(list(following.hair_facts.all())), None)
    if facts and facts.washes_counted is not None:
        return float(facts.washes_counted)
    return washes_since(last=closed, now=following.opened_at)


def _number(value: Decimal | int | None) -> float | None:
    return None if value is None else float(value)
