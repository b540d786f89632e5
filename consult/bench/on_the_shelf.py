"""Whether the shelf fills a bowl, shown before anything is weighed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from consult.models import Formula
from formulas.models import ProductLine, Shade
from formulas.selectors import shades_with_stock


@dataclass(frozen=True)
class Shortage:
    """A shade of which there is less than the bowl takes; `left` is None below zero.

    Below zero more was mixed than ever came in: only counting tells what is there.
    `is_for_another`: it would do, did not a bowl that is weighed before take some of it.
    """

    shade: Shade
    needed: Decimal
    left: Decimal | None
    is_for_another: bool = False


def stock_by_shade(line: ProductLine) -> dict[int, Decimal]:
    """Return the grams of each shade of a line."""
    return {
        shade.pk: shade.grams  # type: ignore[attr-defined]
        for shade in shades_with_stock(line=line)
    }


def shortages(
    formula: Formula, stock: Mapping[int, Decimal], *, before: Sequence[Formula] = ()
) -> Sequence[Shortage]:
    """Return what the shelf cannot fill of a formula, in the order of weighing.

    `before` are formulas of the same visit that are weighed first.
    """
    free = stock_after(stock, before)
    found = []
    for line in formula.lines.all():
        left, there = free.get(line.shade_id, Decimal(0)), stock.get(line.shade_id, Decimal(0))
        if left < line.grams:
            shown = left if left >= 0 else Decimal(0) if there >= 0 else None
            found.append(Shortage(line.shade, line.grams, shown, there >= line.grams))
    return found


def stock_after(
    stock: Mapping[int, Decimal], weighed: Sequence[Formula]
) -> Mapping[int, Decimal]:
    """Return the grams of each shade that are left once some formulas are weighed."""
    left = dict(stock)
    for formula in weighed:
        for line in formula.lines.all():
            left[line.shade_id] = left.get(line.shade_id, Decimal(0)) - line.grams
    return left


def parts_without(formula: Formula, missing: Sequence[Shortage]) -> str:
    """Return the parts that are on the shelf, as an address carries them."""
    out = {shortage.shade.pk for shortage in missing}
    return ",".join(
        f"{line.shade_id}:{line.parts.normalize():f}"
        for line in formula.lines.all()
        if line.shade_id not in out
    )
