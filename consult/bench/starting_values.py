"""What the stylist is offered to start from: the last visits' own values come first."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from statistics import median

from clients.diary.free_time import Slot, nearest
from consult import selectors, zones
from consult.models import BowlMixed, HairFacts, MarkKind, Visit
from formulas.mixing import BowlTable, suggested_bowl_grams
from formulas.mixing_rules import table_of
from formulas.washes import washes_to_fade


def amounts_of(visit: Visit) -> BowlTable:
    """Return the salon's amounts, read once for a visit as a page holds it."""
    known: BowlTable | None = visit.__dict__.get("amounts")
    if known is None:
        known = visit.__dict__["amounts"] = table_of(visit.salon)
    return known


def bowl_grams(visit: Visit, key: str, facts: HairFacts | None) -> tuple[Decimal, bool]:
    """Return how much a bowl should hold, and whether that is what this client's last held.

    It follows the length, the density and the zones by the owner's table; the last visit's
    bowl counts only where length and density are the same.
    """
    facts = facts or selectors.facts_in_force(visit)
    known = {"length": facts.length, "density": facts.density} if facts else {}
    hair: dict[str, str] = {name: value for name, value in known.items() if value}
    past = _last_bowl(visit, key, hair)
    grams = suggested_bowl_grams(
        zones.Group(key).members, past_grams=past, table=amounts_of(visit), **hair
    )
    return grams, bool(past)


def _last_bowl(visit: Visit, key: str, hair: dict[str, str]) -> list[Decimal]:
    """Return what the last visit's bowl for the same zones held, where the hair is the same.

    Only the last visit that had such a bowl counts: hair that grew or was cut since says
    more about today than a bowl of a year ago.
    """
    last = (
        BowlMixed.objects.filter(
            visit__in=Visit.objects.of_person(visit.client),
            formula__zones=key,
            marks__kind=MarkKind.START,
        )
        .exclude(visit=visit)
        .select_related("visit")
        .prefetch_related("lines")
        .order_by("-mixed_at")
        .first()
    )
    if last is None or not hair:
        return []
    then = selectors.facts_in_force(last.visit)
    if then is None or {"length": then.length, "density": then.density} != hair:
        return []
    poured = sum((line.poured_grams for line in last.lines.all()), Decimal(0))
    return [poured + last.developer_grams]


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
    earlier = Visit.objects.closed_before(visit)
    opened = list(earlier.values_list("opened_at", flat=True)[:5])
    gaps = [(a - b).days / 7 for a, b in pairwise([visit.opened_at, *opened])]
    from_visits = len(gaps) >= 2
    facts = selectors.facts_in_force(visit)
    washed = facts.washes_since_toner if facts else None
    pace = washed / gaps[0] if washed and gaps and gaps[0] >= 1 else 0.0
    knows_pace = 0.5 <= pace <= 10
    pace = pace if knows_pace else USUAL_WASHES
    porous = [float(row.porosity) for row in selectors.readings_in_force(visit).values()]
    washes = washes_to_fade(line=visit.line, porosity=max(porous, default=0.0))
    faded_weeks = weeks_kept(washes / pace)
    weeks = weeks_kept(median(gaps)) if from_visits else faded_weeks
    return NextVisit(
        today + dt.timedelta(weeks=weeks),
        weeks,
        from_visits,
        faded_weeks,
        round(pace, 1),
        knows_pace,
    )


def weeks_kept(weeks: float) -> int:
    """Return the weeks to a next visit, whole, within what the salon ever proposes."""
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
    for slot in sorted(free, key=lambda candidate: abs(candidate.starts_at - wanted)):
        if all(abs(slot.starts_at - other.starts_at) >= APART for other in offered):
            offered.append(slot)
    return sorted(offered[:MOST_OFFERED], key=lambda candidate: candidate.starts_at)
