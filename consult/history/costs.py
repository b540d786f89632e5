"""What a period's visits cost and how they came out, by line and by stylist."""

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from statistics import fmean

from consult.history import histories
from consult.history.visit_record import VisitRecord
from consult.models import Visit
from salon.models import Salon

PERIODS = (30, 90, 365)
MOST_VISITS = 2000


@dataclass(frozen=True)
class Total:
    """A line's or a stylist's visits of a period, in one row.

    `cost` is the colour poured at today's price of a tube, developer left out.
    """

    name: str
    visits: int
    redone: int
    cost: Decimal
    grams: Decimal
    level_drift: float | None
    warmth_drift: float | None
    within: int
    seen: int

    @property
    def cost_of_a_visit(self) -> Decimal:
        """The mean."""
        return self.cost / self.visits

    @property
    def redone_percent(self) -> float:
        """How many of its visits had to be put right."""
        return 100.0 * self.redone / self.visits


@dataclass(frozen=True)
class Period:
    """The totals of so many days."""

    days: int
    lines: Sequence[Total]
    stylists: Sequence[Total]


def period(*, salon: Salon, days: int, at: dt.datetime) -> Period:
    """Return what the visits closed in the last days cost, and how they came out."""
    since = at - dt.timedelta(days=days)
    rows = Visit.objects.for_salon(salon).closed().filter(closed_at__gte=since)
    records = histories.records_of(rows.order_by("-closed_at")[:MOST_VISITS])
    return Period(
        days,
        _totals(records, lambda visit: visit.line.name),
        _totals(records, lambda visit: visit.stylist.display_name),
    )


def _totals(records: Iterable[VisitRecord], name_of: Callable[[Visit], str]) -> list[Total]:
    grouped: dict[str, list[VisitRecord]] = defaultdict(list)
    for record in records:
        grouped[name_of(record.visit)].append(record)
    return [_total(name, members) for name, members in sorted(grouped.items())]


def _total(name: str, members: Sequence[VisitRecord]) -> Total:
    poured = [
        (line.poured_grams, line.shade.price_per_gram)
        for record in members
        for bowl in record.visit.bowls.all()
        for line in bowl.lines.all()
    ]
    seen = [g for record in members for g in record.groups if g.is_comparable]
    return Total(
        name=name,
        visits=len(members),
        redone=sum(bool(record.visit.corrections.all()) for record in members),
        cost=sum((grams * price for grams, price in poured), Decimal(0)),
        grams=sum((grams for grams, _price in poured), Decimal(0)),
        level_drift=_mean(g.level_drift for g in seen),
        warmth_drift=_mean(g.warmth_drift for g in seen),
        within=sum(g.within_range for g in seen),
        seen=len(seen),
    )


def _mean(values: Iterable[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return fmean(known) if known else None
