"""Hair on a screen: its colours lie inside sRGB, and lifted hair is never green."""

import numpy as np
import pytest

from formulas.engine import Chart
from formulas.engine.hair.chart import LEVELS, WHITE_HAIR_LAB
from formulas.engine.light.colorimetry import hex_to_lab, lab_to_hex, reflectance_to_lab
from formulas.engine.light.kubelka_munk import to_reflectance

UNDERTONES = np.linspace(-1, 1, 9)


def _lifted(level: float, undertone: float) -> np.ndarray:
    reflectance = to_reflectance(Chart.default().warmth_ks(level, undertone))
    return np.asarray(reflectance_to_lab(reflectance))


@pytest.mark.parametrize("undertone", UNDERTONES)
def test_a_screen_of_srgb_shows_every_hair(undertone: float) -> None:
    """So `color(display-p3)` would show the same: IEC 61966-2-1 holds all of them.

    What sRGB lacks is shown with less chroma, so a colour that comes back is inside; a code of
    8 bits is off by half a step, which is under 0.6 in a* and b* at these lightnesses.
    """
    for level in LEVELS[LEVELS >= 2]:
        lab = _lifted(level, undertone)
        assert hex_to_lab(lab_to_hex(lab)) == pytest.approx(lab, abs=0.6), level
    for lab in (*Chart.default().natural_lab, WHITE_HAIR_LAB):
        assert hex_to_lab(lab_to_hex(lab)) == pytest.approx(lab, abs=0.9)


@pytest.mark.parametrize("undertone", UNDERTONES)
def test_lifted_hair_is_never_green(undertone: float) -> None:
    """Common practice, no source: it goes from red-brown to pale yellow (a* above 0)."""
    assert all(_lifted(level, undertone)[1] > 0 for level in LEVELS)
