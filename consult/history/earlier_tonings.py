"""A client's earlier tonings with one line, by zone: for the next mix and the history."""

import datetime as dt
from decimal import Decimal

from django.db.models import Prefetch

from clients.models import Client
from consult import zones
from consult.hair.residue import KEEPS_TONER
from consult.history import histories
from consult.history.line_results import minutes_of, poured
from consult.models import HairFacts, Visit, ZoneReading
from formulas.earlier_visits import Earlier, PastToning, earlier
from formulas.engine_inputs import ZoneInput
from formulas.models import ProductLine
from formulas.suggestion import washes_since

# Visits before these say little: their toner is gone, and hair changes.
MOST_VISITS = 5


def for_next_mix(visit: Visit, *, at: dt.datetime) -> dict[str, Earlier]:
    """Return by zone what earlier visits mean for a mix of this visit."""
    facts = visit.hair_facts.order_by("-pk").first()
    known = facts.washes_counted if facts else None
    found = _by_zone(
        visit.client,
        visit.line,
        before=visit.opened_at,
        washes=None if known is None else float(known),
        at=at,
    )
    if known is not None:
        return found
    # How often it was washed was not noted: what is left is not guessed.
    return {
        zone: Earlier(None, one.take, one.take_doubt, one.sentences)
        for zone, one in found.items()
    }


def outlook(client: Client, *, at: dt.datetime) -> dict[str, Earlier]:
    """Return by zone what the last visits say of repeating them, for the history."""
    last = Visit.objects.of_person(client).closed().order_by("-opened_at", "-pk").first()
    if last is None or last.line is None:
        return {}
    return _by_zone(client, last.line, before=at, washes=None, at=at)


def _by_zone(
    client: Client,
    line: ProductLine,
    *,
    before: dt.datetime,
    washes: float | None,
    at: dt.datetime,
) -> dict[str, Earlier]:
    records = _unbroken(client, line, before=before)
    found = {}
    for zone in zones.Zone.values:
        tonings = _tonings(records, zone, washes=washes, at=at)
        if tonings:
            found[zone] = earlier(line=line, tonings=tonings)
    return found


def _unbroken(
    client: Client, line: ProductLine, *, before: dt.datetime
) -> list[histories.ToldVisit]:
    """Return the last visits up to one with another line, the oldest first."""
    rows = (
        Visit.objects.of_person(client)
        .closed()
        .filter(opened_at__lt=before)
        .order_by("-opened_at", "-pk")
        .prefetch_related(
            Prefetch("zone_readings", ZoneReading.objects.order_by("pk")),
            Prefetch("hair_facts", HairFacts.objects.order_by("pk")),
        )
    )
    records: list[histories.ToldVisit] = []
    for record in histories.told(rows[:MOST_VISITS]):
        if record.visit.line_id != line.pk:
            break
        records.append(record)
    return records[::-1]


def _tonings(
    records: list[histories.ToldVisit], zone: str, *, washes: float | None, at: dt.datetime
) -> tuple[PastToning, ...]:
    found = []
    for n, record in enumerate(records):
        reading = {row.zone: row for row in record.visit.zone_readings.all()}.get(zone)
        group = next((g for g in record.groups if zone in zones.split(g.zones)), None)
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
    records: list[histories.ToldVisit], n: int, *, washes: float | None, at: dt.datetime
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
