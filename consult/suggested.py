"""What the stylist is offered to start from: the last visits' own values come first."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from statistics import median
from typing import Any

from consult import selectors, zones
from consult.models import BowlMixed, HairFacts, Visit
from formulas.mixing import suggested_bowl_grams
from formulas.suggestion import washes_since

# After so many washes hardly any demi-permanent toner is left (trade texts: 10 to 12 and
# more); the guess is then left empty.
MOST_WASHES = 24
STEP_GRAMS = Decimal(5)


def washes_guess(visit: Visit, last: Visit | None, *, at: dt.datetime) -> int | None:
    """Return about how many washes lie since the last toner, or None where none is left."""
    if last is None or last.closed_at is None or last.line_id != visit.line_id:
        return None
    washes = round(washes_since(last=last.closed_at, now=at))
    return washes if washes <= MOST_WASHES else None


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
    told: dict[str, Any] = {"length": facts.length, "density": facts.density} if facts else {}
    return suggested_bowl_grams(zones.split(key), **told), False


@dataclass(frozen=True)
class NextVisit:
    """When to come again, and why then."""

    date: dt.date
    weeks: int
    from_own_visits: bool


# Demi-permanent toner lasts 10 to 12 washes and more (trade and textbook texts); at two
# washes a week that is five to six weeks. Porous hair loses it sooner (Cheng et al. 2009).
USUAL_WEEKS = 6
POROUS_WEEKS = 5
FEWEST_WEEKS, MOST_WEEKS = 3, 14


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
    moments = [visit.opened_at, *opened]
    gaps = [(a - b).days / 7 for a, b in pairwise(moments)]
    if len(gaps) >= 2:
        weeks = min(max(round(median(gaps)), FEWEST_WEEKS), MOST_WEEKS)
        return NextVisit(today + dt.timedelta(weeks=weeks), weeks, True)
    porous = any(row.porosity > 0 for row in selectors.readings_in_force(visit).values())
    weeks = POROUS_WEEKS if porous else USUAL_WEEKS
    return NextVisit(today + dt.timedelta(weeks=weeks), weeks, False)
