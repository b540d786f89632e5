"""What of the last toner is still on the hair, for the lengths that were not lifted again."""

import datetime as dt

from consult import selectors, zones
from consult.models import BowlMixed, Visit
from formulas.suggestion import LastToner, washes_since

# After so many washes hardly any demi-permanent toner is left (trade texts: 10 to 12 and
# more).
MOST_WASHES = 24
# Regrowth is new hair; mid-lengths and ends carry the last toner (model assumption).
KEEPS_TONER = frozenset({zones.Zone.MID_LENGTHS, zones.Zone.ENDS})


def last_toned(visit: Visit) -> Visit | None:
    """Return the client's last closed visit before this one."""
    return (
        Visit.objects.of_person(visit.client)
        .closed()
        .filter(opened_at__lt=visit.opened_at)
        .order_by("-opened_at", "-pk")
        .first()
    )


def leaves_toner(visit: Visit) -> bool:
    """Return whether the client's last visit may have left toner of the same line."""
    last = last_toned(visit)
    return last is not None and last.closed_at is not None and last.line_id == visit.line_id


def washes_assumed(visit: Visit, *, at: dt.datetime) -> int | None:
    """Return the washes to count with where nobody asked, or None where none is left."""
    last = last_toned(visit)
    if last is None or last.closed_at is None or last.line_id != visit.line_id:
        return None
    washes = round(washes_since(last=last.closed_at, now=at))
    return washes if washes <= MOST_WASHES else None


def of_last_visit(visit: Visit, *, at: dt.datetime) -> dict[str, LastToner]:
    """Return the toner left by zone; none where the stylist gives no number of washes."""
    facts = selectors.facts_in_force(visit)
    if facts is None or facts.washes_counted is None:
        return {}
    last = last_toned(visit)
    if last is None or last.line_id != visit.line_id:
        return {}
    left: dict[str, LastToner] = {}
    for bowl in selectors.bowls_of(last):
        parts = tuple((line.shade.name, float(line.poured_grams)) for line in bowl.lines.all())
        for zone in zones.split(bowl.formula.zones):
            if zone in KEEPS_TONER:
                left[zone] = LastToner(
                    parts=parts,
                    minutes=_minutes(bowl, zone),
                    washes=float(facts.washes_counted),
                )
    return left


def _minutes(bowl: BowlMixed, zone: str) -> float:
    taken = bowl.minutes_on(zone)
    if taken is None:
        return float(bowl.formula.processing_minutes)
    return float(min(max(taken, 1), 90))
