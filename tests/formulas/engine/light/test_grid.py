"""The grid and its only resampling code."""

import numpy as np
import pytest

from formulas.engine.light import grid
from formulas.engine.light.library import colour_science


def test_grid_runs_from_400_to_700_by_10() -> None:
    assert grid.WAVELENGTHS_NM.tolist() == list(range(400, 701, 10))
    assert grid.weights().shape == (31, 3)


def test_weights_are_those_of_colour_science() -> None:
    """CIE 15:2018 tables, by colour-science's own integration on the same grid."""
    colour = colour_science()
    shape = colour.SpectralShape(400, 700, 10)
    rng = np.random.default_rng(5)

    for _ in range(5):
        reflectance = rng.uniform(0.0, 1.0, 31)
        xyz = colour.sd_to_XYZ(
            colour.SpectralDistribution(reflectance, shape.wavelengths),
            cmfs=colour.MSDS_CMFS[grid.OBSERVER].copy().align(shape),
            illuminant=colour.SDS_ILLUMINANTS[grid.ILLUMINANT].copy().align(shape),
            method="Integration",
        )

        np.testing.assert_allclose(reflectance @ grid.weights(), xyz, rtol=1e-9)


def test_white_is_close_to_the_published_white_point() -> None:
    """D65, 10 degrees: x 0.31382, y 0.33100 (ISO/CIE 11664-2, by colour-science)."""
    white = grid.white()
    published = colour_science().CCS_ILLUMINANTS[grid.OBSERVER]["D65"]

    # The grid stops at 700 nm, which costs a little red.
    np.testing.assert_allclose(white[:2] / white.sum(), published, atol=1e-3)
    assert white[1] == pytest.approx(100.0)


def test_resampling_the_grid_changes_nothing() -> None:
    values = np.linspace(0.1, 0.6, 31)

    np.testing.assert_allclose(grid.resample(grid.WAVELENGTHS_NM, values), values)


@pytest.mark.parametrize("step_nm", [1, 4, 5, 20])
def test_resampling_keeps_a_smooth_spectrum(step_nm: float) -> None:
    def smooth(nm: np.ndarray) -> np.ndarray:
        return 0.1 + 0.4 / (1.0 + np.exp(-(nm - 560.0) / 40.0))

    nm = np.arange(380.0, 740.1, step_nm)

    found = grid.resample(nm, smooth(nm))

    np.testing.assert_allclose(found, smooth(grid.WAVELENGTHS_NM), atol=2e-3)


def test_resampling_never_leaves_the_range_of_the_values() -> None:
    nm = np.arange(400.0, 701.0, 20.0)
    steps = np.where(nm < 550, 0.0, 1.0)

    found = grid.resample(nm, steps)

    assert found.min() >= 0.0
    assert found.max() <= 1.0
    assert np.all(np.diff(found) >= -1e-12)


NM = np.arange(400.0, 701.0, 10.0)
HALF = np.full(31, 0.5)


@pytest.mark.parametrize(
    ("nm", "values", "message"),
    [
        (NM[::-1], HALF, r"wavelengths_nm \[nm\] must rise .* given 690 after 700"),
        (np.where(NM == 500, 490, NM), HALF, r"given 490 after 490"),
        (NM[:20], HALF[:20], r"must cover 400 to 700, given 400 to 590"),
        (NM[1:], HALF[1:], r"must cover 400 to 700, given 410 to 700"),
        (NM[::3], HALF[::3], r"must step by 20 at most, given a step of 30"),
        (NM, HALF[:-1], r"same length.*\(31,\) and \(30,\)"),
        (NM, np.where(NM == 500, np.nan, HALF), r"reflectance \[unitless\].*finite"),
        (np.where(NM == 500, np.nan, NM), HALF, r"wavelengths_nm \[nm\].*finite"),
        (NM, HALF * 2.2, r"reflectance \[unitless\] must lie within 0..1, given 1.1..1.1"),
        (NM, HALF * 100, r"given 50..50"),
        (NM, -HALF, r"given -0.5..-0.5"),
        ([], [], r"same length"),
    ],
)
def test_a_bad_spectrum_is_refused_by_name(nm: object, values: object, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        grid.resample(nm, values)  # type: ignore[arg-type]


def test_words_are_no_reflectance() -> None:
    with pytest.raises(ValueError, match=r"swatch \[unitless\] must be numbers"):
        grid.checked_reflectance(["dark"], name="swatch")
