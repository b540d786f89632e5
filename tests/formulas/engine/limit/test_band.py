"""The limit as a band, its absolute reserve, and the entries of the chart that tell most."""

import numpy as np
import pytest

from formulas import engine
from formulas.engine.hair.chart import ASSUMED
from formulas.engine.light.colorimetry import reflectance_to_lab
from formulas.engine.limit.least_depth import blocks
from formulas.engine.prediction.doubts import LEVEL_DOUBT
from formulas.engine.prediction.numbers import judge_of
from tests.formulas.engine.lines_for_tests import LINE, measured_at

CHART = engine.Chart.default()


@pytest.mark.parametrize("white", [0.0, 20.0, 25.0, 30.0, 70.0])
@pytest.mark.parametrize("level", [5.0, 7.0, 9.0])
def test_every_colour_that_a_deposit_can_leave_keeps_a_reserve(
    level: float, white: float
) -> None:
    """Optimal colours (Schroedinger 1920) and what lies between neighbours, white among it."""
    random = np.random.default_rng(int(level + white))
    bed = engine.prepare(engine.Zone(level, white_percent=white), LINE)
    judge, every = judge_of(bed, CHART), blocks()
    curve = engine.limit(engine.Zone(level, white_percent=white))
    at = random.integers(0, len(every) - 1, 4000)
    between = every[at] + (every[at + 1] - every[at]) * random.uniform(0, 1, (4000, 1))
    lab = reflectance_to_lab(bed.reflectance() * np.concatenate([every, between]))
    warmth = judge.warmth_left_percent(lab)
    known = warmth <= curve.warmth_left_percent[0]

    room = (judge.levels_deeper_looks(lab) - curve.at(warmth))[known].min()
    measured = (judge.levels_deeper_measured(lab) - measured_at(curve, warmth))[known].min()

    assert room > 0.002
    assert measured > 0.002


def test_the_band_holds_the_line_and_widens_with_the_way() -> None:
    zone = engine.Zone(7.5)
    band = engine.limit_band(zone)
    depth = band.curve.levels_deeper_looks

    assert np.all(band.low <= depth)
    assert np.all(depth <= band.high)
    width = band.high - band.low
    assert width[0] == pytest.approx(0.0, abs=1e-9)  # nothing laid on: where it began
    assert width[-1] > width[len(width) // 2] > 0.05


def test_the_band_is_that_of_readings_moved_by_hand() -> None:
    """Two doubts of the level alone, where the undertone has no say."""
    zone = engine.Zone(7.5)
    band = engine.limit_band(zone)
    neutral = float(np.interp(0.0, band.curve.warmth_left_percent[::-1], band.high[::-1]))
    deeper = float(engine.limit(engine.Zone(7.5 + LEVEL_DOUBT)).at(0.0))
    own = float(band.curve.at(0.0))

    assert neutral - own >= 2.0 * max(deeper - own, 0.0) - 0.02


def test_it_names_the_entries_that_would_make_the_line_surest() -> None:
    zone = engine.Zone(8)
    first, second = engine.telling_entries(zone)

    assert first.levels >= second.levels > 0
    assert (first.level, first.kind) == (8.0, "warmth")
    measured = CHART.replaced(level=8.0, kind="warmth", lab=CHART.warmth_lab[14])
    assert all(e.kind == "natural" for e in engine.telling_entries(zone, chart=measured))


def test_an_entry_that_can_only_be_warmer_is_moved_that_way_alone() -> None:
    """A warmth hardly warmer than natural hair: with less chroma it would be no warmth."""
    barely = CHART.natural_lab[14] + np.array([0.3, 0.6, 1.2])
    chart = CHART.replaced(level=8.0, kind="warmth", lab=barely, standing=ASSUMED)

    entries = engine.telling_entries(engine.Zone(8), chart=chart, count=30)

    (moved,) = [entry for entry in entries if (entry.level, entry.kind) == (8.0, "warmth")]
    assert moved.levels > 0
