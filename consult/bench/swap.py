"""Another mix for a bowl that the shelf does not fill, as near as can be to what was signed."""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from consult import selectors, zones
from consult.agreement import planning
from consult.agreement.deviation import distance
from consult.bench.comparison import Side, side
from consult.bench.recipes import Parts, fitting_bowl, in_shelf_order
from consult.models import ChosenPlace, Formula, Visit
from formulas import mixing
from formulas.models import Shade
from formulas.selectors import shades_in_stock

# How many mixes of the short list are compared.
MOST_COMPARED = 6


@dataclass(frozen=True)
class Swap:
    """The nearest mix that the shelf fills, in place of a formula's own."""

    formula: Formula
    side: Side
    is_grown: bool

    @property
    def strays(self) -> str:
        """Why it is not what was signed, or an empty string."""
        return next((outcome.strays for outcome in self.side.outcomes if outcome.strays), "")

    @property
    def parts_by_name(self) -> tuple[tuple[str, float], ...]:
        """The parts as a choice keeps them."""
        names = [name for name, _grams in self.side.weights.grams]
        return tuple(zip(names, map(float, self.side.parts.values()), strict=True))

    @property
    def distance(self) -> float:
        """How far the part that fares worst is from what was signed for it."""
        return max(
            distance(signed=outcome.place.predicted, mix=outcome.predicted)
            for outcome in self.side.outcomes
        )


def nearest(
    visit: Visit, formula: Formula, stock: Mapping[int, Decimal], *, at: dt.datetime
) -> Swap | None:
    """Return the mix nearest to what was signed that `stock` fills, or None."""
    shades = list(shades_in_stock(line=visit.line))
    members = set(zones.Group(formula.zones).members)
    places = [
        place
        for place in formula.sign_off.choice.places.all()
        if set(zones.Group(place.zones).members) <= members
    ]
    own = {line.shade_id: line.parts for line in formula.lines.all()}
    ids = {shade.name: shade.pk for shade in shades}
    found = []
    try:
        for parts, early in _candidates(visit, formula, places, shades, at=at):
            swap = _swap(visit, formula, places, parts, early, shades=shades, at=at)
            if swap and parts != own and _fills(swap, stock, ids):
                found.append(swap)
    except planning.NothingToMix:
        pass  # the shelf fills no bowl at all
    return min(found, key=lambda swap: swap.distance, default=None)


def _candidates(
    visit: Visit,
    formula: Formula,
    places: list[ChosenPlace],
    shades: list[Shade],
    *,
    at: dt.datetime,
) -> Iterator[tuple[Parts, dict[str, int]]]:
    """Yield mixes on the shelf with the minutes of the parts that get them last."""
    names = {shade.pk: shade.name for shade in shades}
    ids = {name: pk for pk, name in names.items()}
    readings = selectors.readings_in_force(visit)
    bowl = float(formula.bowl_grams)
    if len(places) > 1:
        aims = {place.zones: place.warmth_aim_percent for place in places}
        common = planning.shared(visit, readings, aims, bowl_grams=bowl, at=at)
        minutes = {key: share.minutes for key, share in common.shares.items()}
        early = {key: n for key, n in minutes.items() if n and n < formula.processing_minutes}
        parts = in_shelf_order({ids[name]: Decimal(n) for name, n in common.parts}, names)
        yield parts, early if len(early) < len(places) else {}
        return
    for place in places:
        rows = planning.ranked(
            visit, readings, place.zones, aim=place.warmth_aim_percent, bowl_grams=bowl,
            at=at, count=MOST_COMPARED,
        )  # fmt: skip
        for row in rows:
            yield (
                in_shelf_order({ids[name]: Decimal(n) for name, n in row.parts}, names),
                {},
            )


def _swap(
    visit: Visit,
    formula: Formula,
    places: list[ChosenPlace],
    parts: Parts,
    early: dict[str, int],
    *,
    shades: list[Shade],
    at: dt.datetime,
) -> Swap | None:
    """Return a mix in the formula's place, with its bowl and time; None if refused."""
    try:
        bowl = fitting_bowl(visit, parts, formula.bowl_grams)
        found = side(
            visit, formula.zones, parts, places=places, shades=shades, at=at,
            bowl_grams=bowl, minutes=formula.processing_minutes, zone_minutes=early,
            developer_percent=formula.developer_percent,
        )  # fmt: skip
    except (planning.NothingToMix, mixing.MixingRefused):
        return None
    return Swap(formula, found, is_grown=bowl > formula.bowl_grams)


def _fills(swap: Swap, stock: Mapping[int, Decimal], ids: Mapping[str, int]) -> bool:
    """Return whether each shade of the bowl is on the shelf."""
    return all(
        stock.get(ids[name], Decimal(0)) >= grams for name, grams in swap.side.weights.grams
    )
