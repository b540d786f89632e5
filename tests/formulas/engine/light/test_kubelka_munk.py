"""Kubelka-Munk against printed values and itself."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulas.engine.light.kubelka_munk import to_ks, to_reflectance

# K/S = (1-R)^2 / 2R: Allen 1980, in Grum & Bartleson, Optical Radiation Measurements 2, eq. 20.
R_TO_KS = [
    (0.01, 49.005), (0.02, 24.01), (0.05, 9.025), (0.1, 4.05), (0.2, 1.6), (0.25, 1.125),
    (0.3, 0.816667), (0.4, 0.45), (0.5, 0.25), (0.6, 0.133333), (0.7, 0.064286), (0.8, 0.025),
    (0.9, 0.005556), (0.95, 0.001316),
]  # fmt: skip
KS_TO_R = [
    (0.01, 0.868226), (0.05, 0.729844), (0.1, 0.641742), (0.25, 0.5), (0.5, 0.381966),
    (1, 0.267949), (2, 0.171573), (4, 0.101021), (8, 0.055728), (16, 0.029437),
]  # fmt: skip


@pytest.mark.parametrize(("reflectance", "ks"), R_TO_KS)
def test_ks_of_reflectance(reflectance: float, ks: float) -> None:
    assert float(to_ks(reflectance)) == pytest.approx(ks, abs=5e-7, rel=5e-5)


@pytest.mark.parametrize(("ks", "reflectance"), KS_TO_R)
def test_reflectance_of_ks(ks: float, reflectance: float) -> None:
    assert float(to_reflectance(ks)) == pytest.approx(reflectance, abs=5e-7)


def test_dye_adds_its_ks_to_the_fibre() -> None:
    """Additive K/S (Allen 1980): base R 0.6 plus dye K/S 0.5 gives R 0.34191 (computed)."""
    assert float(to_reflectance(to_ks(0.6) + 0.5)) == pytest.approx(0.34191, abs=5e-6)


@given(st.floats(1e-4, 1.0))
def test_there_and_back(reflectance: float) -> None:
    assert float(to_reflectance(to_ks(reflectance))) == pytest.approx(reflectance, rel=1e-6)


def test_no_digits_are_lost_where_ks_is_large() -> None:
    # The form 1 + K - sqrt(K^2 + 2K) gives 0 here.
    assert float(to_reflectance(1e9)) == pytest.approx(5e-10, rel=1e-6)


@given(st.floats(0, 1e6), st.floats(0, 1e6))
def test_more_absorption_never_reflects_more(ks: float, more: float) -> None:
    assert to_reflectance(ks + more) <= to_reflectance(ks)


@pytest.mark.parametrize("reflectance", [-0.1, 1.1, float("nan"), float("inf")])
def test_an_impossible_reflectance_is_refused(reflectance: float) -> None:
    with pytest.raises(ValueError, match=r"reflectance \[unitless\]"):
        to_ks(np.array([0.5, reflectance]))


@pytest.mark.parametrize("ks", [-0.1, float("nan")])
def test_an_impossible_ks_is_refused(ks: float) -> None:
    with pytest.raises(ValueError, match=r"ks \[unitless\]"):
        to_reflectance(np.array([0.5, ks]))
