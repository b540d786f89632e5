"""The shelf at a glance: how full it is, what runs low, level by level."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import groupby

from django.utils.translation import gettext as _

from formulas.models import ProductLine, Shade

# A shade runs low below a third of a tube: less than the colour of one bowl of 60 g or so.
LOW_SHARE = Decimal(1) / 3
FULL_TUBES = 3
# Two months hold a few visits of everyone who comes every six weeks.
RATE_DAYS = 60


@dataclass(frozen=True)
class Held:
    """A shade and how much of it is on the shelf.

    `used` is what was mixed of it in the last `RATE_DAYS`, where it was asked for.
    """

    shade: Shade
    grams: Decimal
    used: Decimal | None = None

    @property
    def days_left(self) -> int | None:
        """How long it lasts at the present rate; None where none was used."""
        if not self.used or self.grams <= 0:
            return None
        return int(self.grams * RATE_DAYS / self.used)

    @property
    def state(self) -> str:
        """To be counted, out, low or in stock."""
        if self.grams < 0:
            return "count"
        if self.grams == 0:
            return "out"
        return "low" if self.grams < self.reorder_grams else "stocked"

    @property
    def reorder_grams(self) -> Decimal:
        """Below which it is to be ordered: the shade's own level, else a third of a tube."""
        own = self.shade.reorder_grams
        return self.shade.tube_grams * LOW_SHARE if own is None else own

    @property
    def tubes_to_order(self) -> int:
        """How many tubes bring it to a tube above that level; 0 while it has enough."""
        if self.state == "stocked":
            return 0
        wanted = self.reorder_grams + self.shade.tube_grams - max(self.grams, Decimal(0))
        return max(1, math.ceil(wanted / self.shade.tube_grams))

    @property
    def state_label(self) -> str:
        """The state in a word; nothing where all is well."""
        words = {"count": _("count it"), "out": _("none left"), "low": _("running low")}
        return words.get(self.state, "")

    @property
    def tubes(self) -> Decimal:
        """How many tubes that is."""
        return max(self.grams, Decimal(0)) / self.shade.tube_grams

    @property
    def fill(self) -> float:
        """How full the shelf is, three tubes for full."""
        return float(min(self.tubes / FULL_TUBES, Decimal(1)))


@dataclass(frozen=True)
class Glance:
    """A line with its shades, level by level, clear last."""

    line: ProductLine
    levels: list[tuple[Decimal | None, list[Held]]] = field(default_factory=list)

    @property
    def held(self) -> list[Held]:
        """Every shade of it."""
        return [shade_held for _level, row in self.levels for shade_held in row]

    @property
    def out(self) -> int:
        """How many shades are used up, or to be counted."""
        return sum(shade_held.state in {"out", "count"} for shade_held in self.held)

    @property
    def low(self) -> int:
        """How many shades run low."""
        return sum(shade_held.state == "low" for shade_held in self.held)


def glances(lines: Iterable[ProductLine], shades: Iterable[Shade]) -> list[Glance]:
    """Return each line with its shades in use; `shades` carry `grams`."""
    found = {line.pk: Glance(line) for line in lines}
    held = [Held(shade, shade.grams) for shade in shades]  # type: ignore[attr-defined]
    for (pk, level), row in groupby(held, key=lambda h: (h.shade.line_id, h.shade.level)):
        if pk in found:
            found[pk].levels.append((level, list(row)))
    return list(found.values())
