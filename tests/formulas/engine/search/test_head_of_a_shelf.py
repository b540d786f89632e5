"""A head from a shelf that is short, of lines that do not belong together, and its places."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from formulas import engine
from formulas.engine.search.clouds import Cloud
from tests.formulas.engine.lines_for_tests import LINE, OTHER, SMALL

NEAR = {"roots": engine.Zone(7.5), "ends": engine.Zone(8)}


def _offers(line: engine.Line = SMALL, **how: Any) -> dict[str, engine.Offer]:
    return {name: engine.offer(zone, line, max_parts=3, **how) for name, zone in NEAR.items()}


def test_a_short_shelf_gives_a_head_of_what_is_on_it() -> None:
    """20 g of every shade fill no bowl alone: each mix is of two shades or more."""
    offers = _offers(grams_in_stock=dict.fromkeys(SMALL.names, 20.0))

    for place in engine.head_of(offers, steps=2).along:
        for name, part in place.zones.items():
            parts = dict(part.offered.mix.parts)
            whole = sum(parts.values())
            grams = offers[name].within.colour_grams
            assert all(n / whole * grams <= 20.0 + 1e-6 for n in parts.values())


@pytest.mark.parametrize(("level", "shades"), [(8.0, 3), (5.0, 2), (8.0, 4)])
def test_a_cloud_has_the_colour_of_every_mix(level: float, shades: int) -> None:
    """Dark colours (CIE 15's linear part) and four shades are read in ways of their own."""
    line = SMALL if level > 5 else replace(LINE, shades=LINE.shades[:7])
    found = engine.search(
        engine.Zone(level),
        line,
        max_parts=4 if shades == 4 else 3,
        max_shades=shades,
        strengths=dict.fromkeys(line.names, 1.0 if level > 5 else 15.0),
    )
    cloud = Cloud.of(found)
    some = np.arange(0, len(cloud.rows), max(len(cloud.rows) // 40, 1))

    read = found.read(cloud.rows[some])

    exact = np.array([mix.lab for mix in read])
    assert np.abs(cloud.lab[:, some].T - exact).max() < 0.02


def test_a_head_is_of_one_line_and_one_wish() -> None:
    other = {"roots": engine.offer(engine.Zone(8), OTHER), "ends": _offers()["ends"]}
    with pytest.raises(ValueError, match="one line"):
        engine.head_of(other)

    wished = {**_offers(), "ends": engine.offer(NEAR["ends"], SMALL, wanted_level=6.0)}
    with pytest.raises(ValueError, match="same wanted level"):
        engine.head_of(wished)


def test_the_place_at_a_warmth_is_the_nearest() -> None:
    head = engine.head_of(_offers(), steps=4)
    warmths = [place.warmth_left_percent for place in head.along]

    assert head.at(1000.0) is head.along[int(np.argmax(warmths))]
    middle = head.along[len(head.along) // 2]
    assert head.at(middle.warmth_left_percent + 0.001) is middle
