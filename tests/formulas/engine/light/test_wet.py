"""Wetting against the published theory."""

import numpy as np
import pytest

from formulas.engine.hair.chart import Chart
from formulas.engine.light.colorimetry import lab_to_xyz
from formulas.engine.light.kubelka_munk import to_ks
from formulas.engine.light.wet import THROWN_BACK, wetting_ratio
from formulas.engine.prediction.numbers import show
from formulas.engine.toner.deposit import prepare
from formulas.engine.toner.zone import Zone
from tests.formulas.engine.lines_for_tests import LINE


@pytest.mark.parametrize(("lightness", "ratio"), [(20, 2.0), (80, 2.7)])
def test_ratio_at_the_published_ends(lightness: float, ratio: float) -> None:
    """Lekner & Dorf 1988, Appl. Opt. 27:1278: K/S times 2.0 at L* 20, 2.7 at L* 80."""
    assert float(wetting_ratio(lightness)) == pytest.approx(ratio, abs=0.02)


@pytest.mark.parametrize("lightness", [20, 35, 50, 65, 80])
def test_ratio_follows_the_absorbed_share(lightness: float) -> None:
    """A = (1 - Rl) a / (1 - p (1 - a)), p = 0.472 (Lekner & Dorf 1988), here without Rl."""
    dry = float(lab_to_xyz([lightness, 0, 0])[1]) / 100
    absorbed = (1 - dry) / (1 - THROWN_BACK * dry)

    assert float(wetting_ratio(lightness)) == pytest.approx(
        float(to_ks(1 - absorbed) / to_ks(dry)), rel=0.05
    )


def test_damp_hair_is_7_to_13_units_darker_and_up_to_two_levels_deeper() -> None:
    """7 to 12 units: computed from Lekner & Dorf 1988. Two levels: common practice, no source.

    Below level 5 the chart's levels lie closer than the theory's darkening; there damp hair
    reads up to two and a half levels deeper.
    """
    chart = Chart.default()
    bed = prepare(Zone(10, white_percent=100), LINE)
    natural = to_ks(chart.natural_reflectance) - bed.base_ks[0]

    dry, damp = show(bed, natural)  # natural hair of each level, as a deposit on white hair

    drop = dry[:, 0] - damp[:, 0]
    levels = np.interp(dry[:, 0], dry[:, 0], np.arange(1, 10.1, 0.5))
    deeper = levels - np.interp(damp[:, 0], dry[:, 0], levels)
    assert drop.min() > 6
    assert drop.max() < 13
    assert deeper[8:].max() < 2.1
    assert deeper[8:].min() > 1.0


def test_damp_is_never_lighter() -> None:
    deposits = np.geomspace(1e-3, 100, 50)[:, None] * np.ones(31)

    dry, damp = show(prepare(Zone(8, white_percent=30), LINE), deposits, wetting=0.2)

    assert np.all(damp[:, 0] <= dry[:, 0] + 1e-9)
