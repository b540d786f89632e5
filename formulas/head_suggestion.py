"""What a whole head can be: places for all its zones together."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from formulas import engine, engine_inputs
from formulas.engine_inputs import Ground, ZoneInput
from formulas.engine_results import rounded, shown_data
from formulas.models import ProductLine
from formulas.practice_rules import practice_of
from formulas.shelf_search import offer_shelf
from formulas.snapshots import Mix
from formulas.suggestion import Suggestion


@dataclass(frozen=True)
class HeadInput:
    """A group of zones as read, and the bowl that it is given."""

    zone: ZoneInput
    bowl_grams: float


@dataclass(frozen=True)
class HeadPlace:
    """A place of the whole head, with the mix of every group of zones.

    Attributes
    ----------
    key : str
        Name of the place, or empty.
    warmth_left_percent, levels_deeper_looks : float
        Of the whole. [% and levels]
    largest_difference : float
        How far the group that misses most is from the common colour. [CIEDE2000]
    is_even : bool
        Whether an eye lets it pass as one colour.
    held_by : str or None
        The group that keeps the whole from being lighter.
    bowls : sequence of sequences of groups
        Which groups share a bowl.
    zones : mapping of group to Mix
    """

    key: str
    warmth_left_percent: float
    levels_deeper_looks: float
    largest_difference: float
    is_even: bool
    held_by: str | None
    bowls: Sequence[Sequence[str]]
    zones: Mapping[str, Mix]


def suggest_head(
    *,
    line: ProductLine,
    groups: Mapping[str, HeadInput],
    wanted_level: float | None = None,
) -> list[HeadPlace]:
    """Return the head's places over two groups of zones or more, warmest first.

    With a wanted level all of them are about as dark as natural hair of it.

    Each place has the mix of every group with its ranges, how far the group that misses most
    is from the common colour (CIEDE2000), and which group keeps the whole from being lighter.

    Raises
    ------
    ValueError
        If the stock fills no bowl of this line; the message says what is missing.
    """
    ground = engine_inputs.ground_of(line)
    practice = practice_of(line)[1]
    in_order = tuple(groups.items())
    smallest = min(group.bowl_grams for group in groups.values())
    colour_grams = smallest / (1.0 + ground.in_use().developer_ratio)
    stock = engine_inputs.usable_stock(ground.stock, bowl_colour_grams=colour_grams)
    head = _found(ground, practice, in_order, wanted_level, tuple(sorted(stock.items())))
    shown = {
        key: engine.shown(
            head.offers[key],
            [place.zones[key].offered for place in head.along],
            doubts=ground.doubts_of(group.zone),
        )
        for key, group in in_order
    }
    return [
        HeadPlace(
            key=place.key,
            warmth_left_percent=round(place.warmth_left_percent, 2),
            levels_deeper_looks=round(place.levels_deeper_looks, 3),
            largest_difference=round(place.largest_difference, 2),
            is_even=place.is_even,
            held_by=place.held_by,
            bowls=[list(bowl) for bowl in place.bowls],
            zones={
                key: _of_head(shown_data(shown[key][n]), head.offers[key], zone)
                for key, zone in place.zones.items()
            },
        )
        for n, place in enumerate(head.along)
    ]


def head_of_one(key: str, suggestion: Suggestion) -> list[HeadPlace]:
    """Return the same for a head that reads alike all over: the places of its one group."""
    named = {place["warmth_left_percent"]: place["key"] for place in suggestion.places}
    return [
        HeadPlace(
            key=named.get(mix["warmth_left_percent"], ""),
            warmth_left_percent=mix["warmth_left_percent"],
            levels_deeper_looks=mix["levels_deeper_looks"],
            largest_difference=0.0,
            is_even=True,
            held_by=None,
            bowls=[[key]],
            zones={key: {**mix, "difference": 0.0, "deeper_for_the_whole": 0.0}},
        )
        for mix in suggestion.mixes
    ]


def colour_difference(one: Sequence[float], other: Sequence[float]) -> float:
    """Return CIEDE2000 between two L*a*b*."""
    return float(engine.delta_e_2000(np.asarray(one), np.asarray(other)))


def _of_head(mix: Mix, offer: engine.Offer, zone: engine.HeadZone) -> Mix:
    """Return a group's mix with what it is to the whole."""
    lab = zone.offered.mix.lab
    looks = float(offer.every.judge.looks_level(lab))
    return {
        **mix,
        "lab": rounded(lab),
        "looks_level": round(min(max(looks, 1.0), 10.0), 2),
        "difference": round(zone.difference, 2),
        "deeper_for_the_whole": round(zone.deeper_for_the_whole, 2),
    }


@lru_cache(maxsize=12)
def _found(
    ground: Ground,
    practice: engine.Practice,
    groups: tuple[tuple[str, HeadInput], ...],
    wanted_level: float | None,
    _shelf: tuple[tuple[str, float], ...],
) -> engine.Head:
    return engine.head_of(
        {
            key: offer_shelf(
                ground,
                group.zone,
                practice,
                bowl_grams=group.bowl_grams,
                wanted_level=wanted_level,
            )
            for key, group in groups
        }
    )
