"""What visits cost in colour and developer, and what of it was thrown away.

As priced at the pour. What is left in a bowl, and a bowl that never went on, is waste: part of
the cost and named beside it. What is discarded from the shelf is shared by its line's visits.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields
from decimal import Decimal
from typing import Any

from django.db.models import (
    Count,
    Exists,
    F,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
)

from consult.history import kept_sums
from consult.history.question import Question, Whose
from consult.models import (
    BowlLeftover,
    BowlLine,
    BowlMixed,
    MarkKind,
    ProcessingMark,
    Visit,
)
from formulas.models import MovementReason, StockMovement
from salon.models import Salon

_NOTHING = Decimal(0)


@dataclass(frozen=True)
class Spent:
    """What was poured, and what it cost; grams without a price are named, never free.

    `waste_*` is the part of it that was not used, of `weighed` of `bowls` bowls;
    `discarded_cost` these visits' share of what left the shelf unused.
    """

    grams: Decimal = _NOTHING
    developer_grams: Decimal = _NOTHING
    cost: Decimal = _NOTHING
    unpriced_grams: Decimal = _NOTHING
    unpriced_developer_grams: Decimal = _NOTHING
    waste_grams: Decimal = _NOTHING
    waste_cost: Decimal = _NOTHING
    discarded_cost: Decimal = _NOTHING
    unpriced_discarded_grams: Decimal = _NOTHING
    bowls: int = 0
    weighed: int = 0
    visits: int = 0

    @property
    def total(self) -> Decimal | None:
        """All of it, discards included; None where nothing has a price."""
        everything = self.grams + self.developer_grams
        unpriced = self.unpriced_grams + self.unpriced_developer_grams
        if not everything or unpriced >= everything:
            return None
        return self.cost + self.discarded_cost

    @property
    def cost_of_a_visit(self) -> Decimal | None:
        """The mean over visits with a bowl; None where nothing has a price."""
        return None if self.total is None or not self.visits else self.total / self.visits

    @property
    def waste_percent(self) -> Decimal | None:
        """The share of what was mixed that was not used; None where no bowl was asked about."""
        everything = self.grams + self.developer_grams
        return 100 * self.waste_grams / everything if self.weighed and everything else None

    @property
    def unpriced_total(self) -> Decimal:
        """Grams poured or thrown away that have no price."""
        return (
            self.unpriced_grams + self.unpriced_developer_grams + self.unpriced_discarded_grams
        )

    @property
    def is_complete(self) -> bool:
        """Whether all that was poured or thrown away has a price."""
        return not self.unpriced_total

    def __add__(self, other: "Spent") -> "Spent":
        names = [row.name for row in fields(self)]
        return Spent(**{name: getattr(self, name) + getattr(other, name) for name in names})


@dataclass(frozen=True)
class Costs:
    """What each visit spent, and by line and by stylist; what the shelf discarded by line."""

    by_visit: Mapping[int, Spent] = field(default_factory=dict)
    by_group: Mapping[tuple[str, int], Spent] = field(default_factory=dict)

    def of(self, kind: str, pk: int) -> Spent:
        """Return what a "line" or a "stylist" spent."""
        return self.by_group.get((kind, pk), Spent())

    def of_visit(self, pk: int) -> Spent:
        """Return what a visit spent."""
        return self.by_visit.get(pk, Spent())


def costs_of(
    visits: QuerySet[Visit], *, salon: Salon, since: dt.datetime, until: dt.datetime
) -> Costs:
    """Return what some visits of a time spent; four queries.

    A line's discards of that time are shared evenly by all its visits with a bowl.
    """
    bowls = _priced_bowls(visits.order_by().values("pk"))
    shares = _shares(salon, since, until)
    by_visit: dict[int, Spent] = defaultdict(Spent)
    groups: dict[int, tuple[int, int]] = {}
    for visit, line, stylist, spent in bowls:
        if visit not in by_visit:
            by_visit[visit] += shares.get(line, Spent()) + Spent(visits=1)
        by_visit[visit] += spent
        groups[visit] = line, stylist
    by_group: dict[tuple[str, int], Spent] = defaultdict(Spent)
    for visit, spent in by_visit.items():
        line, stylist = groups[visit]
        by_group["line", line] += spent
        by_group["stylist", stylist] += spent
    return Costs(dict(by_visit), dict(by_group))


def by_group(question: Question) -> Costs:
    """Return what a time's closed visits spent by line and by stylist; a few queries.

    As `costs_of`, from the figures that each visit keeps.
    """
    rows = [
        (kept.line, kept.stylist, Spent(**kept.values, visits=kept.coloured))
        for kept in kept_sums.kept(question.whose)
    ]
    unkept, seen = kept_sums.unkept(question.whose), set()
    for visit, line, stylist, spent in _priced_bowls([row.pk for row in unkept]):
        first = Spent(visits=1) if visit not in seen else Spent()
        seen.add(visit)
        rows.append((line, stylist, spent + first))
    shares = _shares(question.salon, question.since, question.until)
    found: dict[tuple[str, int], Spent] = defaultdict(Spent)
    for line, stylist, poured in rows:
        share = shares.get(line, Spent())
        spent = poured + Spent(
            discarded_cost=share.discarded_cost * poured.visits,
            unpriced_discarded_grams=share.unpriced_discarded_grams * poured.visits,
        )
        found["line", line] += spent
        found["stylist", stylist] += spent
    return Costs(by_group=dict(found))


def spent_by_visit(pks: Sequence[int]) -> dict[int, Spent]:
    """Return what visits spent, without a share of discards; two queries."""
    found: dict[int, Spent] = defaultdict(Spent)
    for visit, _line, _stylist, spent in _priced_bowls(pks):
        found[visit] += spent
    return dict(found)


def of_one(visit: Visit) -> Spent:
    """Return what a visit itself spent, without a share of discards; two queries."""
    found = sum((row[3] for row in _priced_bowls([visit.pk])), Spent())
    return found + Spent(visits=1) if found.bowls else found


def _priced_bowls(inside: Any) -> list[tuple[int, int, int, Spent]]:
    """Return (visit, line, stylist, spent) of each bowl."""
    if not inside and isinstance(inside, list):
        return []
    colour = dict(_colour(BowlLine.objects.filter(bowl__visit__in=inside)))
    own = OuterRef("pk")
    left = BowlLeftover.objects.filter(bowl=own, replaced_by__isnull=True)
    started = ProcessingMark.objects.filter(bowl=own, kind=MarkKind.START)
    rows = (
        BowlMixed.objects.filter(visit__in=inside)
        .order_by()
        .annotate(left=Subquery(left.values("grams")[:1]), was_on=Exists(started))
        .values_list(
            "pk", "visit", "visit__line", "visit__stylist", "developer_grams",
            "developer_price_per_gram", "left", "was_on",
        )
    )  # fmt: skip
    return [
        (visit, line, stylist, _spent(colour.get(pk, (_NOTHING,) * 3), *bowl))
        for pk, visit, line, stylist, *bowl in rows
    ]


def _spent(
    colour: Sequence[Decimal],
    developer: Decimal,
    price: Decimal | None,
    left: Decimal | None,
    was_on: bool,
) -> Spent:
    grams, cost, unpriced = colour
    cost += developer * (price or _NOTHING)
    mixed = grams + developer
    waste = (left or _NOTHING) if was_on else mixed
    return Spent(
        grams=grams,
        developer_grams=developer,
        cost=cost,
        unpriced_grams=unpriced,
        unpriced_developer_grams=developer if price is None else _NOTHING,
        waste_grams=waste,
        waste_cost=cost * waste / mixed if mixed else _NOTHING,
        bowls=1,
        weighed=int(left is not None or not was_on),
    )


def _colour(
    lines: QuerySet[BowlLine],
) -> Iterable[tuple[int, tuple[Decimal, Decimal, Decimal]]]:
    """Return (grams, cost, grams without a price) of each bowl's colour."""
    for pk, *sums in _summed(lines, "bowl", "poured_grams"):
        yield pk, (sums[0], sums[1], sums[2])


def _shares(salon: Salon, since: dt.datetime, until: dt.datetime) -> dict[int, Spent]:
    """Return each line's discards of a time, for one of its visits with a bowl."""
    moved = StockMovement.objects.filter(
        salon=salon,
        reason=MovementReason.DISCARDED,
        recorded_at__gte=since,
        recorded_at__lt=until,
    )
    rows = _summed(moved, "shade__line", "grams")
    if not rows:
        return {}
    visited: dict[int, int] = defaultdict(int)
    everyone = Whose(salon, since, until)
    if unkept := kept_sums.unkept(everyone):
        mixed = BowlMixed.objects.filter(visit__in=[row.pk for row in unkept]).order_by()
        visited.update(mixed.values_list("visit__line").annotate(Count("visit", distinct=True)))
    for kept in kept_sums.kept(everyone):
        visited[kept.line] += kept.coloured
    return {
        line: Spent(
            discarded_cost=-cost / visited[line],
            unpriced_discarded_grams=-unpriced / visited[line],
        )
        for line, _grams, cost, unpriced in rows
        if visited[line]
    }


def _summed(
    rows: QuerySet[Any], group: str, grams: str
) -> list[tuple[int, Decimal, Decimal, Decimal]]:
    """Return (group, grams, cost, grams without a price)."""

    summed = (
        rows.order_by()
        .values_list(group)
        .annotate(
            sum_grams=kept_sums.total(F(grams)),
            sum_cost=kept_sums.total(F(grams) * F("price_per_gram")),
            sum_unpriced=kept_sums.total(F(grams), filter=Q(price_per_gram__isnull=True)),
        )
    )
    return [(row[0], row[1], row[2], row[3]) for row in summed]
