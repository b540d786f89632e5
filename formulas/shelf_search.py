"""Every mix that the shelf can fill, searched once and kept while nothing changes."""

from functools import lru_cache

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from formulas import engine, engine_inputs
from formulas.engine_inputs import Ground, ZoneInput
from formulas.mixing import MixingRefused

_MOST_PARTS = 6

Grams = tuple[tuple[str, float], ...]


class ShelfTooEmpty(ValueError):
    """Raised when what stands on the shelf fills no bowl of this line."""


def search_shelf(
    ground: Ground, zone: ZoneInput, minutes: float | None, bowl_grams: float
) -> engine.SearchResult:
    """Return every mix of a line in use on a zone that the shelf can fill, read.

    Raises
    ------
    ShelfTooEmpty
        If no mix can be filled.
    ValueError
        If a number is out of range.
    """
    if not 1 <= bowl_grams <= 1000:
        raise MixingRefused(_("A bowl holds between 1 and 1000 g."))
    line = ground.in_use()
    colour_grams = bowl_grams / (1.0 + line.developer_ratio)
    stock = engine_inputs.usable_stock(ground.stock, bowl_colour_grams=colour_grams)
    smallest = colour_grams / _MOST_PARTS
    empty = _(
        "No mix of %(line)s fits on the shelf: the smallest part of a bowl of %(bowl)s g is "
        "%(part)s g. Receive stock, take a smaller bowl or another line."
    ) % {
        "line": line.name,
        "bowl": number_format(bowl_grams, 0),
        "part": number_format(smallest, 1),
    }
    if all(grams < smallest for grams in stock.values()):
        raise ShelfTooEmpty(empty)
    shelf = (tuple(sorted(stock.items())), tuple(sorted(ground.prices.items())))
    result = _cached_search(ground, zone, minutes, bowl_grams, shelf)
    if not result.frontier:
        raise ShelfTooEmpty(empty)
    return result


@lru_cache(maxsize=12)
def _cached_search(
    ground: Ground,
    zone: ZoneInput,
    minutes: float | None,
    bowl_grams: float,
    shelf: tuple[Grams, Grams],
) -> engine.SearchResult:
    stock, prices = shelf
    return engine.search(
        ground.zone(zone),
        ground.in_use(),
        minutes=minutes,
        max_parts=_MOST_PARTS,
        grams_in_stock=dict(stock),
        bowl_grams=bowl_grams,
        price_per_gram=dict(prices),
        chart=ground.chart,
    )
