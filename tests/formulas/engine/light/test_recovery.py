"""Recovered reflectances against colour-science's own Jakob & Hanika 2019."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulas.engine.light import grid
from formulas.engine.light.colorimetry import delta_e_2000, reflectance_to_lab
from formulas.engine.light.library import colour_science
from formulas.engine.light.recovery import recover_reflectance

HAIR = [(18.0, 0.5, -0.5), (34.0, 17.9, 22.9), (50.2, 11.2, 32.6), (71.5, 1.0, 28.0)]


@pytest.mark.parametrize("lab", HAIR)
def test_agrees_with_colour_science(lab: tuple[float, float, float]) -> None:
    """Jakob & Hanika 2019, Computer Graphics Forum 38(2):147-155, as colour-science has it."""
    colour = colour_science()
    shape = colour.SpectralShape(400, 700, 10)
    illuminant = colour.SDS_ILLUMINANTS["D65"].copy().align(shape)
    white_xy = colour.XYZ_to_xy(grid.white())

    theirs = colour.recovery.XYZ_to_sd_Jakob2019(
        colour.Lab_to_XYZ(lab, white_xy),
        colour.MSDS_CMFS[grid.OBSERVER].copy().align(shape),
        illuminant,
    )

    ours = recover_reflectance(lab)
    np.testing.assert_allclose(ours, theirs.values, atol=0.01)
    assert float(delta_e_2000(reflectance_to_lab(theirs.values), lab)) < 0.5


@given(st.floats(15, 80), st.floats(0, 15), st.floats(0, 30))
def test_round_trip_of_hair_colours(lightness: float, chroma: float, degrees: float) -> None:
    hue = np.radians(40 + 2 * degrees)
    lab = np.array([lightness, chroma * np.cos(hue), chroma * np.sin(hue)])

    reflectance = recover_reflectance(lab)

    assert reflectance.min() >= 0.0
    assert reflectance.max() <= 1.0
    assert float(delta_e_2000(reflectance_to_lab(reflectance), lab)) < 0.001


def test_many_at_once_are_the_same_as_one_by_one() -> None:
    together = recover_reflectance(np.array(HAIR).reshape(2, 2, 3))

    assert together.shape == (2, 2, 31)
    for one, lab in zip(together.reshape(-1, 31), HAIR, strict=True):
        np.testing.assert_allclose(one, recover_reflectance(lab), atol=1e-6)


@pytest.mark.parametrize(
    "lab",
    [
        (50, 100, 100),
        (90, 60, -60),
        (5, 60, 10),
        (0, 0, 0),
        (120, 0, 0),
        (30, 1e9, 0),
        (float("nan"), 0, 0),
        (50, 0),
    ],
)
def test_a_colour_that_no_surface_shows_is_refused(lab: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match=r"^lab"):
        recover_reflectance(lab)
