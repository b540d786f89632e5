"""Four shades: what pruning leaves is what reading every mix leaves."""

import random
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulas import engine
from formulas.engine.light.exponentials import CLOSE_ENOUGH, exponential_sum
from formulas.engine.light.kubelka_munk import to_reflectance
from formulas.engine.prediction.candidates import read_rows
from formulas.engine.search.frontier import leading
from formulas.engine.search.pruned import SLACK_LEVELS
from tests.formulas.engine.lines_for_tests import LINE, OTHER, sixty

ZONES = [
    engine.Zone(5.0),
    engine.Zone(7.5),
    engine.Zone(9.5, 0.5, 30.0),
    engine.Zone(2.0),
    engine.Zone(8.0, residual=engine.Residual(LINE, {"8 blue": 1}, washes=2)),
]


def _some(line: engine.Line, count: int, seed: int) -> engine.Line:
    return replace(line, shades=tuple(random.Random(seed).sample(line.shades, count)))  # noqa: S311


@pytest.mark.parametrize("zone", ZONES, ids=range(len(ZONES)))
@pytest.mark.parametrize(("line", "parts"), [(LINE, 6), (OTHER, 8)], ids=["six", "eight"])
def test_the_frontier_is_that_of_reading_every_mix(
    zone: engine.Zone, line: engine.Line, parts: int
) -> None:
    few = _some(line, 12, seed=parts)
    result = engine.search(zone, few, max_shades=4, max_parts=parts)
    every = read_rows(result.bed, result.judge, result.space, np.arange(result.space.size))

    best = leading(every, result.space, result.judge.coolest_percent)

    assert result.evaluated == result.space.size
    assert list(result.frontier) == result.read(best)


def test_kept_mixes_read_within_the_stated_bound() -> None:
    result = engine.search(engine.Zone(7.5), _some(LINE, 20, seed=4), max_shades=4)
    pool = result.pool
    some = np.arange(0, len(pool.rows), max(1, len(pool.rows) // 3000))

    exact = read_rows(result.bed, result.judge, result.space, pool.rows[some])

    assert np.abs(pool.warmth[some] - exact.warmth).max() <= pool.tolerance[0]
    deeper = result.judge.levels_deeper_at(pool.lightness[some])
    assert np.abs(deeper - exact.looks).max() <= pool.tolerance[1] / 4.0


def test_the_short_list_is_that_of_reading_every_mix_near_the_frontier() -> None:
    result = engine.search(engine.Zone(7.5), _some(LINE, 12, seed=9), max_shades=4)
    full = np.arange(result.space.size)
    every = read_rows(result.bed, result.judge, result.space, full)
    aim = 45.0
    near = full[np.abs(every.warmth - aim) < 2.0]
    gap = every.looks[near] - result.curve.at(every.warmth[near])
    least = int(gap.min() / 0.1)

    (ranked,) = engine.rank(result, [aim], k=3)

    first = [int(one.gap_levels / 0.1) for one in ranked]
    assert first[0] == least
    assert SLACK_LEVELS >= 0.2
    in_first_step = near[(gap / 0.1).astype(int) == least]
    assert ranked[0].candidate in result.read(in_first_step)


def test_shuffled_shades_give_the_same_answer() -> None:
    few = _some(LINE, 14, seed=1)
    other = replace(few, shades=few.shades[::-1])

    one = engine.search(engine.Zone(8), few, max_shades=4)

    assert one.frontier == engine.search(engine.Zone(8), other, max_shades=4).frontier


def test_four_shades_never_do_worse_than_three() -> None:
    few = _some(LINE, 14, seed=2)
    three = engine.search(engine.Zone(6.5), few)
    four = engine.search(engine.Zone(6.5), few, max_shades=4)

    for mix in three.frontier:
        assert any(
            other.warmth_left_percent <= mix.warmth_left_percent + 1e-9
            and other.levels_deeper_looks <= mix.levels_deeper_looks + 1e-9
            for other in four.frontier
        )


def test_no_mix_of_four_asks_for_more_than_the_stock_holds() -> None:
    few = _some(LINE, 12, seed=6)
    stock = {name: 4.0 + 2.0 * n for n, name in enumerate(few.names)}

    result = engine.search(engine.Zone(7.5), few, max_shades=4, grams_in_stock=stock)

    every = np.arange(result.space.size)
    grams = 24.0 * result.space.fractions(every)
    fits = (grams <= [stock[name] + 1e-6 for name in result.bed.names]).all(axis=1)
    readings = read_rows(result.bed, result.judge, result.space, every[fits])
    assert result.evaluated == fits.sum()
    assert list(result.frontier) == result.read(leading(readings, result.space))


@pytest.mark.slow
def test_sixty_shades_in_fours_are_all_counted() -> None:
    result = engine.search(engine.Zone(7.5), sixty(), max_shades=4)

    assert result.evaluated == 669_710 + 15 * 487_635


@given(
    low=st.floats(-4, 0).map(lambda n: 10.0**n),
    span=st.floats(1, 4).map(lambda n: 10.0**n),
    at=st.floats(0, 1),
)
def test_the_sum_of_exponentials_keeps_its_promise(low: float, span: float, at: float) -> None:
    """Against the closed form of Kubelka and Munk (Allen 1980, eq. 20)."""
    total = exponential_sum(2.0 ** np.floor(np.log2(low)), 2.0 ** np.ceil(np.log2(low * span)))
    k = low * span**at

    value = float(total.weights @ np.exp(-total.rates * k))

    assert value == pytest.approx(float(to_reflectance(k)), rel=total.error)
    assert (total.weights > 0).all()


def test_the_sum_is_close_over_the_range_of_hair() -> None:
    assert exponential_sum(0.0625, 64.0).error <= CLOSE_ENOUGH


@pytest.mark.parametrize(("low", "high"), [(0.0, 1.0), (2.0, 1.0), (1.0, float("inf"))])
def test_a_range_without_extent_is_named(low: float, high: float) -> None:
    with pytest.raises(ValueError, match="low and high"):
        exponential_sum(low, high)
