"""The short list and the three places."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from formulas import engine
from formulas.engine.prediction.candidates import read_rows
from formulas.engine.search.ranking import AIM_STEP_PERCENT, GAP_STEP_LEVELS
from tests.formulas.engine.lines_for_tests import LINE, SMALL

ZONE = engine.Zone(7.5)
PRICES = {name: 0.1 + 0.01 * n for n, name in enumerate(LINE.names)}
STOCK = dict.fromkeys(LINE.names, 40.0)


def _plainly(result: engine.SearchResult, aim: float) -> list[tuple[object, ...]]:
    """Every mix of a search by the documented order, read in double precision."""
    rows = np.arange(result.space.size)
    readings = read_rows(result.bed, result.judge, result.space, rows)
    keys = []
    for row, candidate in zip(rows, result.read(rows), strict=True):
        whole = sum(part for _, part in candidate.parts)
        grams = [(name, result.colour_grams * part / whole) for name, part in candidate.parts]
        distance = abs(readings.warmth[row] - aim)
        gap = readings.looks[row] - float(result.curve.at(readings.warmth[row]))
        keys.append(
            (
                int(distance / AIM_STEP_PERCENT + 1e-9),
                int(max(gap, 0.0) / GAP_STEP_LEVELS + 1e-9),
                len(candidate.parts),
                min(STOCK[name] / weight for name, weight in grams) < 2,
                round(sum(weight * PRICES[name] for name, weight in grams), 4),
                round(distance, 6),
                whole,
                candidate.parts,
            )
        )
    return sorted(keys)


@pytest.mark.parametrize("aim", [100.0, 62.0, 37.3, 4.0, -60.0, 180.0])
def test_short_list_is_that_of_reading_every_mix(aim: float) -> None:
    result = engine.search(ZONE, SMALL, grams_in_stock=STOCK, price_per_gram=PRICES)

    (ranked,) = engine.rank(result, [aim], k=12)

    assert [one.candidate.parts for one in ranked] == [
        k[-1] for k in _plainly(result, aim)[:12]
    ]


def test_several_aims_are_ranked_in_one_pass() -> None:
    result = engine.search(ZONE, LINE)

    together = engine.rank(result, [70.0, 40.0, 5.0], k=3)

    assert together == [engine.rank(result, [aim], k=3)[0] for aim in (70.0, 40.0, 5.0)]


def test_ranking_gives_codes_values_and_words() -> None:
    result = engine.search(ZONE, LINE, grams_in_stock=STOCK, price_per_gram=PRICES)

    for one in engine.rank(result, [40.0], k=5)[0]:
        codes = [reason.code for reason in one.reasons]

        assert codes[0] == "on_aim"
        assert one.reasons[0].values["percent"] == pytest.approx(one.distance_percent)
        assert {"cost"} <= set(codes)
        assert ("bowls_in_stock" in codes) is ((one.bowls_in_stock or 0) >= 2)
        assert all(reason.text for reason in one.reasons)


def test_cost_and_grams_are_of_one_bowl() -> None:
    result = engine.search(
        ZONE, SMALL, grams_in_stock=STOCK, price_per_gram=PRICES, bowl_grams=50
    )

    for one in engine.rank(result, [40.0], k=5)[0]:
        assert sum(weight for _, weight in one.grams) == pytest.approx(50 / 2.5)
        assert one.cost == pytest.approx(sum(w * PRICES[name] for name, w in one.grams))
        assert one.bowls_in_stock == pytest.approx(
            min(STOCK[name] / weight for name, weight in one.grams)
        )


def test_an_aim_out_of_reach_gets_the_nearest_and_says_so() -> None:
    result = engine.search(engine.Zone(5), SMALL)

    (ranked,) = engine.rank(result, [-150.0], k=3)

    assert ranked[0].reasons[0].code == "off_aim"
    coolest = result.frontier[-1].warmth_left_percent
    assert ranked[0].candidate.warmth_left_percent <= coolest + AIM_STEP_PERCENT


@pytest.mark.parametrize("bad", [float("nan"), 4000.0, "warm"])
def test_a_bad_aim_is_named(bad: Any) -> None:
    with pytest.raises(ValueError, match=r"aims \[% warmth\]"):
        engine.rank(engine.search(ZONE, SMALL), [bad])


@pytest.mark.parametrize("level", [4.0, 5.0, 6.5, 7.5, 8.5, 10.0])
def test_places_run_from_bright_to_cool(level: float) -> None:
    result = engine.search(engine.Zone(level), LINE)

    places = engine.places(result, result.curve)

    warmth = [place.warmth_left_percent for place in places]
    deeper = [place.levels_deeper_looks for place in places]
    assert warmth == sorted(warmth, reverse=True)
    assert deeper == sorted(deeper)
    assert places.distinct == 3
    assert min(places.beyond_limit) >= -1e-6


def test_places_on_a_usual_base() -> None:
    """Common practice, no source: a bright choice keeps about 70 % of the warmth."""
    places = engine.places(engine.search(ZONE, LINE))

    assert places.bright.warmth_left_percent == pytest.approx(70, abs=3)
    assert places.cool.warmth_left_percent == pytest.approx(5, abs=3)


@pytest.mark.parametrize("names", [("8 violet",), ("clear", "8 violet"), ("10 gold", "clear")])
def test_places_on_a_short_frontier_come_from_it(names: tuple[str, ...]) -> None:
    line = replace(LINE, shades=tuple(LINE.shade(name) for name in names))
    result = engine.search(ZONE, line)

    places = engine.places(result)

    assert set(places) <= set(result.frontier)
    assert places.distinct == min(3, len(result.frontier))


def test_hair_without_warmth_stays_as_light_as_it_can() -> None:
    result = engine.search(engine.Zone(7.5, white_percent=60), LINE)

    places = engine.places(result)

    assert places.cool.levels_deeper_looks < 0.7


def test_mixes_chosen_elsewhere_are_told_as_the_short_list_tells_them() -> None:
    """In the order given, with the grams, cost, bowls and reasons that `rank` gives each."""
    result = engine.search(ZONE, SMALL, grams_in_stock=STOCK, price_per_gram=PRICES)
    (ranked,) = engine.rank(result, [37.3], k=4)
    turned = ranked[::-1]

    told = engine.ranked_mixes(result, [one.candidate for one in turned], 37.3)

    assert told == turned
    assert engine.ranked_mixes(result, [], 37.3) == []
