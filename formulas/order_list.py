"""What to order, by supplier: shades below their level, and how many tubes."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby

from formulas import selectors
from formulas.models import Shade
from formulas.shelf_summary import RATE_DAYS, Held
from salon.models import Salon


@dataclass(frozen=True)
class Order:
    """What to order from one supplier; an empty name where none is entered."""

    supplier: str
    rows: Sequence[Held]

    @property
    def tubes(self) -> int:
        """How many tubes in all."""
        return sum(row.tubes_to_order for row in self.rows)

    @property
    def price(self) -> Decimal:
        """What the tubes with a price cost."""
        return sum((row.tubes_to_order * row.shade.tube_price for row in self.rows), Decimal(0))

    @property
    def unpriced(self) -> int:
        """How many of its shades have no price yet."""
        return sum(not row.shade.tube_price for row in self.rows)


def held_of(shades: Iterable[Shade], *, salon: Salon, at: dt.datetime) -> list[Held]:
    """Return shades with what is there and what was used lately; one query."""
    used = selectors.used_since(salon=salon, since=at - dt.timedelta(days=RATE_DAYS))
    return [Held(s, s.grams, used.get(s.pk)) for s in shades]  # type: ignore[attr-defined]


def orders(*, salon: Salon, at: dt.datetime) -> list[Order]:
    """Return what to order from each supplier, by name; lines without one come last."""
    held = held_of(selectors.shelf(salon=salon), salon=salon, at=at)
    wanted = [row for row in held if row.tubes_to_order]
    wanted.sort(key=lambda row: (not row.shade.line.supplier, row.shade.line.supplier.lower()))
    return [
        Order(supplier, list(rows))
        for supplier, rows in groupby(wanted, key=lambda row: row.shade.line.supplier)
    ]
