"""What visits cost in colour and developer, by line and by stylist, as priced at the pour."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from django.db.models import DecimalField, F, Q, QuerySet, Sum
from django.db.models.functions import Coalesce

from consult.models import BowlLine, BowlMixed, Visit

_MONEY: "DecimalField[Any, Any]" = DecimalField(max_digits=14, decimal_places=4)
_NOTHING = Decimal(0)


@dataclass(frozen=True)
class Spent:
    """What was poured, and what it cost; grams without a price are named, never free."""

    grams: Decimal = _NOTHING
    developer_grams: Decimal = _NOTHING
    cost: Decimal = _NOTHING
    unpriced_grams: Decimal = _NOTHING
    unpriced_developer_grams: Decimal = _NOTHING
    visits: int = 0

    @property
    def cost_of_a_visit(self) -> Decimal | None:
        """The mean over visits with a bowl; None where nothing has a price."""
        everything = self.grams + self.developer_grams
        unpriced = self.unpriced_grams + self.unpriced_developer_grams
        return None if not self.visits or unpriced >= everything else self.cost / self.visits

    @property
    def is_complete(self) -> bool:
        """Whether all that was poured has a price."""
        return not self.unpriced_grams and not self.unpriced_developer_grams


@dataclass(frozen=True)
class ByGroup:
    """What each line and each stylist spent."""

    spent: Mapping[tuple[str, int], Spent] = field(default_factory=dict)

    def of(self, kind: str, pk: int) -> Spent:
        """Return what a "line" or a "stylist" spent."""
        return self.spent.get((kind, pk), Spent())


def by_group(visits: QuerySet[Visit]) -> ByGroup:
    """Return what some visits spent, by line and by stylist; three queries."""
    inside = visits.order_by().values("pk")
    colour = BowlLine.objects.filter(bowl__visit__in=inside).order_by()
    developer = BowlMixed.objects.filter(visit__in=inside).order_by()
    rows = [
        *_sums(colour.values_list("bowl__visit__line", "bowl__visit__stylist"), 0,
               grams="poured_grams", price="price_per_gram"),
        *_sums(developer.values_list("visit__line", "visit__stylist"), 1,
               grams="developer_grams", price="developer_price_per_gram"),
    ]  # fmt: skip
    sums: dict[tuple[str, int], list[Decimal]] = defaultdict(lambda: [_NOTHING] * 5)
    for place, line, stylist, grams, cost, unpriced in rows:
        for key in (("line", line), ("stylist", stylist)):
            total = sums[key]
            total[place] += grams
            total[2] += cost
            total[3 + place] += unpriced
    visited: dict[tuple[str, int], set[int]] = defaultdict(set)
    mixed = BowlMixed.objects.filter(visit__in=inside).order_by()
    for pk, line, stylist in mixed.values_list("visit", "visit__line", "visit__stylist"):
        visited["line", line].add(pk)
        visited["stylist", stylist].add(pk)
    return ByGroup(
        {
            key: Spent(total[0], total[1], total[2], total[3], total[4], len(visited[key]))
            for key, total in sums.items()
        }
    )


def _sums(
    rows: QuerySet[Any], place: int, *, grams: str, price: str
) -> list[tuple[int, int, int, Decimal, Decimal, Decimal]]:
    """Return (place, line, stylist, grams, cost, grams without a price)."""

    def total(what: Any, **how: Any) -> Coalesce:
        return Coalesce(Sum(what, **how, output_field=_MONEY), _NOTHING, output_field=_MONEY)

    summed = rows.annotate(
        sum_grams=total(F(grams)),
        sum_cost=total(F(grams) * F(price)),
        sum_unpriced=total(F(grams), filter=Q(**{f"{price}__isnull": True})),
    )
    return [(place, *row) for row in summed]
