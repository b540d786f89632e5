"""What the shelf offers: every mix searched once, and kept while nothing changes."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from formulas import engine, engine_inputs
from formulas.engine_inputs import Ground, ZoneInput
from formulas.mixing import MixingRefused
from salon.refusals import Refused

_MOST_PARTS = 6

Grams = tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class Shelf:
    """What is searched: a line on a zone, with what the shelf holds."""

    ground: Ground
    zone: ZoneInput
    minutes: float | None
    bowl_grams: float
    stock: Grams
    prices: Grams


class ShelfTooEmpty(Refused):
    """Raised when what is on the shelf fills no bowl of this line."""


def offer_shelf(
    ground: Ground,
    zone: ZoneInput,
    practice: engine.Practice,
    *,
    minutes: float | None = None,
    bowl_grams: float = 60.0,
    wanted_level: float | None = None,
    levels_deeper: float = 0.0,
) -> engine.Offer:
    """Return what is offered on a zone from the mixes that the shelf can fill.

    A wish for depth is a level, or so many levels deeper than the hair looks now; 0 is none.

    Raises
    ------
    ShelfTooEmpty
        If no mix can be filled.
    ValueError
        If a number is out of range.
    """
    if not 1 <= bowl_grams <= 1000:
        raise MixingRefused(_("A bowl holds between 1 and 1000 g."), code="bowl_size")
    line = ground.in_use()
    colour_grams = bowl_grams / (1.0 + line.developer_ratio)
    stock = engine_inputs.usable_stock(ground.stock, bowl_colour_grams=colour_grams)
    smallest = colour_grams / _MOST_PARTS
    empty = _(
        "There is not enough of %(line)s in stock: the smallest part of a bowl "
        "of %(bowl)s g is %(part)s g. Receive stock, or choose a smaller bowl or "
        "another line."
    ) % {
        "line": line.name,
        "bowl": number_format(bowl_grams, 0),
        "part": number_format(smallest, 1),
    }
    if all(grams < smallest for grams in stock.values()):
        raise ShelfTooEmpty(empty)
    shelf = Shelf(ground, zone, minutes, bowl_grams, _sorted(stock), _sorted(ground.prices))
    found = _cached_search(shelf)
    if not found.frontier:
        raise ShelfTooEmpty(empty)
    if wanted_level is None and levels_deeper > 0:
        looks = float(found.judge.looks_level(found.judge.start_lab))
        wanted_level = round(min(max(looks - levels_deeper, 1.0), 10.0), 2)
    return _cached_offer(shelf, practice, wanted_level)


@lru_cache(maxsize=24)
def limit_band(ground: Ground, zone: ZoneInput) -> engine.LimitBand:
    """Return the limit of a zone on this salon's chart, with the range that it lies in."""
    curve = limit_curve(ground, zone)
    return engine.limit_band(ground.zone(zone), chart=ground.chart, curve=curve)


@lru_cache(maxsize=24)
def limit_curve(ground: Ground, zone: ZoneInput) -> engine.LimitCurve:
    """Return the limit of a zone on this salon's chart; no stock and no time moves it."""
    return engine.limit(ground.zone(zone), chart=ground.chart)


def _sorted(grams: Mapping[str, float]) -> Grams:
    return tuple(sorted(grams.items()))


@lru_cache(maxsize=12)
def _cached_search(shelf: Shelf) -> engine.SearchResult:
    return engine.search(
        shelf.ground.zone(shelf.zone),
        shelf.ground.in_use(),
        minutes=shelf.minutes,
        max_parts=_MOST_PARTS,
        grams_in_stock=dict(shelf.stock),
        bowl_grams=shelf.bowl_grams,
        price_per_gram=dict(shelf.prices),
        chart=shelf.ground.chart,
        curve=limit_curve(shelf.ground, shelf.zone),
    )


@lru_cache(maxsize=12)
def _cached_offer(
    shelf: Shelf, practice: engine.Practice, wanted_level: float | None
) -> engine.Offer:
    return engine.offer_of(
        _cached_search(shelf),
        shelf.ground.zone(shelf.zone),
        shelf.ground.in_use(),
        practice=practice,
        wanted_level=wanted_level,
        setting=engine.Setting(shelf.minutes, shelf.ground.chart),
    )
