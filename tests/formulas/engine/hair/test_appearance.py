"""Warmth, level and looks: published values and meaning."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulas.engine import Chart, Judge, Zone, demo_lines, perceived_lightness, prepare
from formulas.engine.hair.chart import LEVELS
from formulas.engine.prediction.numbers import judge_of

CHART = Chart.default()
LINE = demo_lines()["Tidepool"]
AT_7_5 = CHART.warmth_lab[13]
JUDGE = Judge(AT_7_5, AT_7_5, CHART)


@pytest.mark.parametrize(
    ("lab", "lent"),
    [((45, 25, 40), 7.6), ((60, 15, 45), 4.9), ((72, 6, 40), 2.65), ((60, 1, 6), 0.6)],
)
def test_brightness_that_chroma_lends(lab: tuple[float, ...], lent: float) -> None:
    """Computed from Fairchild & Pirrotta 1991, Color Res. Appl. 16(6):385-393, for L** - L*."""
    assert float(perceived_lightness(lab)) - lab[0] == pytest.approx(lent, abs=0.06)


@given(st.floats(1, 99), st.floats(0.1, 60), st.floats(0, 360))
def test_formula_as_printed(lightness: float, chroma: float, hue: float) -> None:
    """L** = L* + (2.5 - 0.025 L*) (0.116 |sin((h - 90) / 2)| + 0.085) C*."""
    h = np.radians(hue)
    lab = (lightness, chroma * np.cos(h), chroma * np.sin(h))
    lent = (
        (2.5 - 0.025 * lightness)
        * (0.116 * abs(np.sin(np.radians((hue - 90) / 2))) + 0.085)
        * chroma
    )

    assert float(perceived_lightness(lab)) == pytest.approx(lightness + lent, abs=1e-6)


def test_start_has_all_its_warmth_and_is_no_deeper() -> None:
    assert float(JUDGE.warmth_left_percent(AT_7_5)) == pytest.approx(100.0)
    assert float(JUDGE.levels_deeper_measured(AT_7_5)) == 0.0
    assert float(JUDGE.levels_deeper_looks(AT_7_5)) == 0.0


@pytest.mark.parametrize("place", range(19))
def test_natural_hair_has_no_warmth_left_and_its_own_level(place: int) -> None:
    lab = CHART.natural_lab[place]

    assert float(JUDGE.warmth_left_percent(lab)) == pytest.approx(0.0, abs=1e-9)
    assert float(JUDGE.level(lab)) == pytest.approx(LEVELS[place])


def test_cooler_than_natural_is_below_zero() -> None:
    ash = CHART.natural_lab_at(7) - np.array([0, 0, 3]) - np.array([0, 1, 0])

    assert float(JUDGE.warmth_left_percent(ash)) < 0


def test_losing_warmth_alone_looks_deeper() -> None:
    """The cooler of two equally light colours looks darker (Fairchild & Pirrotta 1991)."""
    natural = np.array([AT_7_5[0], *CHART.natural_lab_at(7.5)[1:]])

    assert float(JUDGE.levels_deeper_measured(natural)) == pytest.approx(0.0, abs=1e-9)
    assert float(JUDGE.levels_deeper_looks(natural)) > 0.1


def test_a_strong_cast_does_not_pass_as_neutral() -> None:
    natural = CHART.natural_lab_at(6)
    across = np.array([-JUDGE.axis[1], JUDGE.axis[0]])
    green = natural + np.array([0, *(15 * across)])

    assert float(JUDGE.cast(green)) == pytest.approx(15)
    assert float(JUDGE.warmth_left_percent(green)) > 30


def test_level_runs_straight_on_past_the_chart() -> None:
    lighter = np.array([90.0, 0, 5])
    darker = np.array([5.0, 0, 0])

    assert float(JUDGE.level(lighter)) > 10
    assert float(JUDGE.level(darker)) < 1


def test_warmth_is_of_the_bare_hair() -> None:
    """A zone that still holds toner starts below 100 %, so that visits stay comparable."""
    toned = (AT_7_5 + CHART.natural_lab_at(7.5)) / 2
    judge = Judge(toned, AT_7_5, CHART, AT_7_5)

    assert float(judge.warmth_left_percent(judge.start_lab)) == pytest.approx(50, abs=3)
    assert float(judge.warmth_left_percent(AT_7_5)) == pytest.approx(100)


def test_hardly_warm_hair_keeps_percentages_finite() -> None:
    pale = CHART.natural_lab[-1] + np.array([0, 0, 1.0])
    judge = Judge(pale, pale, CHART)

    assert judge.has_little_warmth
    assert judge.starting_warmth == 5.0
    assert 0 < float(judge.warmth_left_percent(pale)) < 50


@pytest.mark.parametrize(("white", "starts_at"), [(0, 100), (5, 100), (20, 50), (50, -20)])
def test_white_fibres_hide_warmth_without_wild_percentages(
    white: float, starts_at: float
) -> None:
    bed = prepare(Zone(7, white_percent=white), LINE)
    judge = judge_of(bed, CHART)

    assert float(judge.warmth_left_percent(judge.start_lab)) == pytest.approx(
        starts_at, abs=20 if white > 5 else 1e-6
    )
    pigmented = float(judge.warmth_left_percent(judge.warm_lab))
    assert 100 - 1e-6 <= pigmented <= 200 + 1e-6


def test_arrays_read_as_one_by_one() -> None:
    labs = np.stack([CHART.warmth_lab, CHART.natural_lab])

    for read in (
        JUDGE.warmth_left_percent,
        JUDGE.cast,
        JUDGE.level,
        JUDGE.levels_deeper_measured,
        JUDGE.levels_deeper_looks,
    ):
        assert read(labs).shape == (2, 19)
        assert read(labs)[1, 4] == pytest.approx(float(read(labs[1, 4])))


@given(st.floats(20, 70), st.floats(-30, 100), st.floats(-10, 10))
def test_a_reading_makes_its_colour(lightness: float, warmth: float, cast: float) -> None:
    lab = JUDGE.lab_at(lightness=lightness, warmth_percent=warmth, cast=cast)

    assert float(JUDGE.warmth_left_percent(lab)) == pytest.approx(warmth, abs=1e-6)
    assert float(JUDGE.cast(lab)) == pytest.approx(cast, abs=1e-6)
