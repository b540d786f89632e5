"""Control charts: check values from outside, and how often they mark what has no fault."""

import math
import random
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from consult.history import control

# NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4 (EWMA control charts; from memory):
# twenty values, target 50, weight 0.3, and the averages as they are printed there.
EWMA_VALUES = [
    52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5,
    49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1,
]  # fmt: skip
EWMA_AVERAGES = [
    50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33,
    50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99,
]  # fmt: skip
# The same handbook, 6.3.2.2 (individuals charts; from memory): mean moving range 1.8778.
MOVING_RANGE_VALUES = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]


def test_the_average_and_its_limits_are_those_of_the_nist_handbook() -> None:
    found = control.averages(EWMA_VALUES, start=50.0, weight=0.3)

    assert found == pytest.approx(EWMA_AVERAGES, abs=0.0051)
    limit = 3 * control.average_doubt(1000, sigma=2.0539, weight=0.3)
    assert 50 + limit == pytest.approx(52.5884, abs=2e-4)
    assert 50 - limit == pytest.approx(47.4115, abs=2e-4)


def test_scatter_from_moving_ranges_is_that_of_the_nist_handbook() -> None:
    bare = control.Scale(step=0.0, usual=1.0, least=0.0, worth=0)

    sigma = control.scatter([MOVING_RANGE_VALUES], bare)

    assert sum(MOVING_RANGE_VALUES) / 10 + 3 * sigma == pytest.approx(55.8041, abs=1e-3)


def test_the_average_takes_as_long_as_lucas_and_saccucci_print() -> None:
    """Lucas & Saccucci 1990, Technometrics 32:1-12, Table 3 (from memory): weight 0.25,
    limit 2.998: about 500 values without a shift, 11 with one of one standard deviation."""
    dice = random.Random(11)  # noqa: S311

    def length(shift: float) -> int:
        average, count = 0.0, 0
        limit = 2.998 * control.average_doubt(1000, sigma=1.0, weight=0.25)
        while abs(average) <= limit:
            average = control.averages([dice.gauss(shift, 1.0)], start=average, weight=0.25)[0]
            count += 1
        return count

    assert sum(length(0.0) for _ in range(300)) / 300 == pytest.approx(500, rel=0.15)
    assert sum(length(1.0) for _ in range(300)) / 300 == pytest.approx(11.0, rel=0.1)


def test_the_slope_is_that_of_least_squares() -> None:
    """Doubt of a slope: sigma over the root of the sum of squares, as in any text."""
    assert control.slope([1.0, 3.0, 5.0, 7.0]) == pytest.approx(2.0)
    assert control.slope_doubt(5, sigma=1.0) == pytest.approx(1 / math.sqrt(10))


# How results are read: as earlier releases asked, on strands of the finest steps that can be
# told apart, on those of hair of every kind, and as a salon has them that changed lately.
READ = {
    "typed": (0.0, (0.5,), (5.0,)),
    "fine strands": (1.0, (0.5,), (15.0,)),
    "strands": (1.0, (0.5, 0.5, 1.0), (15.0, 15.0, 20.0, 30.0, 45.0)),
    "both": (0.5, (0.5, 1.0), (15.0, 20.0, 30.0)),
}


def _series(
    dice: random.Random, how: str, *, shift: float = 0.0, count: int = 17
) -> tuple[list[float], list[float]]:
    """Return depth and warmth errors of a zone as an eye reads it.

    What it scatters has Student's tails with four degrees of freedom, as the engine's model.
    """
    share, depth_steps, warmth_steps = READ[how]
    if dice.random() < share:
        return _on_strands(
            dice, dice.choice(depth_steps), dice.choice(warmth_steps), shift=shift, count=count
        )
    level, warmth = dice.uniform(6.5, 9.5), dice.uniform(5, 60)
    in_steps = dice.random() < 0.6
    depth_errors, warmth_errors = [], []
    for n in range(count):
        predicted, warm = level + dice.gauss(0, 0.15), warmth + dice.gauss(0, 5)
        seen = predicted + 0.2 * _odd(dice)
        seen_warm = warm + 6 * _odd(dice) + _drift(shift, n, count)
        seen = round(2 * seen) / 2 if in_steps else round(seen, 1)
        seen_warm = 5 * round(seen_warm / 5) if in_steps else round(seen_warm)
        depth_errors.append(control.error(predicted, seen, control.DEPTH.step))
        warmth_errors.append(control.error(seen_warm, warm, control.WARMTH.step))
    return depth_errors, warmth_errors


def _on_strands(
    dice: random.Random, depth: float, warmth: float, *, shift: float, count: int
) -> tuple[list[float], list[float]]:
    """Return errors of what is held against two strands either side of the prediction."""

    def nearest(error: float, scale: control.Scale) -> float:
        steps = min(max(round(error / scale.step), -2), 2)
        return control.error(steps * scale.step, 0.0, scale.step)

    of_depth = replace(control.DEPTH, step=depth)
    of_warmth = replace(control.WARMTH, step=warmth)
    return (
        [nearest(0.2 * _odd(dice), of_depth) for _ in range(count)],
        [nearest(6 * _odd(dice) + _drift(shift, n, count), of_warmth) for n in range(count)],
    )


def _odd(dice: random.Random) -> float:
    return 0.85 * dice.gauss(0, 1) / math.sqrt(dice.gammavariate(2, 0.5))


def _drift(shift: float, n: int, count: int) -> float:
    return shift * (n / (count - 1) - 0.5) * 2


def _marked(salons: int, how: str, *, shift: float = 0.0) -> tuple[int, int]:
    """Return how many runs were marked, and in how many series of warmth, in simulated salons.

    Each: 15 clients over two years, every six weeks, three zones always read apart.
    """
    dice, runs, noticed = random.Random(5), 0, 0  # noqa: S311
    for _ in range(salons):
        rows = [_series(dice, how, shift=shift) for _ in range(45)]
        for place, scale in ((0, control.DEPTH), (1, control.WARMTH)):
            sigma = control.scatter((row[place] for row in rows), scale)
            found = [control.all_runs(row[place], sigma=sigma) for row in rows]
            runs += sum(len(marks) for marks in found)
            noticed += place * sum(bool(marks) for marks in found)
    return runs, noticed


def test_a_clean_salon_is_marked_at_most_once_in_twenty_client_years() -> None:
    rates = {how: 20 * _marked(30, how)[0] / (30 * 15 * 2) for how in READ}

    assert max(rates.values()) <= 1.0, rates
    assert max(rates.values()) == pytest.approx(
        control.FALSE_MARKS_PER_20_CLIENT_YEARS, abs=0.25
    )


@pytest.mark.parametrize(("how", "shift"), [("typed", 15.0), ("both", 20.0), ("strands", 30.0)])
def test_a_slow_drift_through_the_prediction_is_noticed(how: str, shift: float) -> None:
    """From so many points too cool to as many too warm over two years: signed means cancel.

    What is held against strands of 15 points and more shows a drift later.
    """
    _runs, noticed = _marked(2, how, shift=shift)

    assert noticed / 90 > 0.5


def test_a_run_names_its_kind_its_side_and_where_it_is() -> None:
    rising = [-9.0, -7.0, -4.0, -1.0, 0.0, 2.0, 5.0, 8.0, 9.0, 11.0]
    kept = [0.0, 1.0, -1.0, 0.0, 8.0, 9.0, 8.0, 10.0, 9.0, 9.0]

    trend = control.run_at_end(rising, sigma=3.0)
    side = control.run_at_end(kept[:7], sigma=3.0)

    assert trend is not None
    assert (trend.kind, trend.is_up, trend.first, trend.last) == ("trend", True, 0, 9)
    assert trend.change > 15
    assert side is not None
    assert (side.kind, side.is_up, side.count) == ("one_sided", True, 3)
    assert control.run_at_end([0.0, 0.0, 40.0], sigma=3.0) is None, "one odd result"
    assert control.run_at_end([20.0, 20.0], sigma=3.0) is None, "two results"
    assert [run.last for run in control.all_runs(kept, sigma=3.0)] == [9]


def test_what_the_eye_cannot_tell_is_no_error() -> None:
    assert control.error(7.0, 7.24, control.DEPTH.step) == 0.0
    assert control.error(7.5, 7.0, control.DEPTH.step) == pytest.approx(0.25)
    assert control.error(30, 42.5, control.WARMTH.step) == pytest.approx(-10.0)


@given(
    st.lists(st.floats(-3, 3).map(lambda value: round(value, 1)), min_size=1, max_size=20),
    st.floats(0.02, 3.0),
)
def test_beyond_what_is_kept_a_series_ends_in_no_run(values: list[float], sigma: float) -> None:
    """A visit keeps the scatter below which its results may end in a run: none is missed."""
    below = control.run_below(values)

    if control.run_at_end(values, sigma=sigma) is not None:
        assert sigma <= below * (1 + 1e-9)
    if below:
        assert control.run_at_end(values, sigma=below * (1 - 1e-6)) is not None
    every = control.all_runs(values, sigma=sigma)
    last = [run for run in every if run.last == len(values) - 1]
    assert control.current_run(values, sigma=sigma) == (last[-1] if last else None)
