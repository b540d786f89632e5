"""What the stylist is offered to start from: the last visits' own values come first."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from statistics import median
from typing import Any

from clients.diary.free_time import Slot, nearest
from consult import selectors, zones
from consult.models import BowlMixed, HairFacts, Visit
from formulas.mixing import suggested_bowl_grams
from formulas.suggestion import washes_to_fade

STEP_GRAMS = Decimal(5)


def bowl_grams(visit: Visit, key: str, facts: HairFacts | None) -> tuple[Decimal, bool]:
    """Return how much a bowl should hold, and whether that is what this client's last held."""
    last = (
        BowlMixed.objects.filter(
            visit__in=Visit.objects.of_person(visit.client), formula__zones=key
        )
        .exclude(visit=visit)
        .prefetch_related("lines")
        .order_by("-mixed_at")
        .first()
    )
    if last:
        poured = sum((line.poured_grams for line in last.lines.all()), Decimal(0))
        whole = poured + last.developer_grams
        return max(STEP_GRAMS, (whole / STEP_GRAMS).quantize(Decimal(1)) * STEP_GRAMS), True
    facts = facts or selectors.facts_in_force(visit)
    known = {"length": facts.length, "density": facts.density} if facts else {}
    told: dict[str, Any] = {name: value for name, value in known.items() if value}
    return suggested_bowl_grams(zones.split(key), **told), False


@dataclass(frozen=True)
class NextVisit:
    """When to come again, and why then.

    `weeks` is the client's own rhythm where they have one, else when a quarter of the toner
    is left (`faded_weeks`), at so many washes a week on hair as porous as this.
    """

    date: dt.date
    weeks: int
    from_own_visits: bool
    faded_weeks: int
    washes_per_week: float
    own_washes: bool


# Two washes a week unless the client's own are known (model assumption). With a quarter left a
# toner is spent: 10 to 12 washes, as trade and textbook texts say.
USUAL_WASHES = 2.0
FEWEST_WEEKS, MOST_WEEKS = 3, 14
# Times offered for it: four, two hours apart at least, of those that lie nearest.
MOST_OFFERED, MOST_LOOKED_AT, APART = 4, 120, dt.timedelta(hours=2)


def next_visit(visit: Visit, *, at: dt.datetime) -> NextVisit:
    """Return when this client's next tone is due: their own rhythm, or how long toner lasts."""
    today = at.astimezone(visit.salon.zone).date()
    opened = list(
        Visit.objects.of_person(visit.client)
        .closed()
        .filter(opened_at__lt=visit.opened_at)
        .order_by("-opened_at")
        .values_list("opened_at", flat=True)[:5]
    )
    gaps = [(a - b).days / 7 for a, b in pairwise([visit.opened_at, *opened])]
    own = len(gaps) >= 2
    facts = selectors.facts_in_force(visit)
    washed = facts.washes_since_toner if facts else None
    pace = washed / gaps[0] if washed and gaps and gaps[0] >= 1 else 0.0
    knows_pace = 0.5 <= pace <= 10
    pace = pace if knows_pace else USUAL_WASHES
    porous = [float(row.porosity) for row in selectors.readings_in_force(visit).values()]
    washes = washes_to_fade(line=visit.line, porosity=max(porous, default=0.0))
    faded_weeks = _bounded(washes / pace)
    weeks = _bounded(median(gaps)) if own else faded_weeks
    return NextVisit(
        today + dt.timedelta(weeks=weeks), weeks, own, faded_weeks, round(pace, 1), knows_pace
    )


def _bounded(weeks: float) -> int:
    return min(max(round(weeks), FEWEST_WEEKS), MOST_WEEKS)


def free_slots(visit: Visit, *, near: dt.date, at: dt.datetime) -> list[Slot]:
    """Return free times near a date and this visit's time of day, apart enough to choose."""
    booked = visit.appointment
    clock = booked.starts_at.astimezone(visit.salon.zone).time()
    wanted = dt.datetime.combine(near, clock, tzinfo=visit.salon.zone)
    free = nearest(
        salon=visit.salon,
        at=at,
        service=booked.service,
        stylist=booked.stylist if booked.stylist.is_active else None,
        wanted_at=wanted,
        most=MOST_LOOKED_AT,
    )
    offered: list[Slot] = []
    for slot in sorted(free, key=lambda one: abs(one.starts_at - wanted)):
        if all(abs(slot.starts_at - other.starts_at) >= APART for other in offered):
            offered.append(slot)
    return sorted(offered[:MOST_OFFERED], key=lambda one: one.starts_at)
