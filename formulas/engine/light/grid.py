"""The wavelength grid, the observer and the illuminant: the only resampling code."""

from functools import cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from formulas.engine.checks import EngineRefusal
from formulas.engine.light.library import colour_science

Array = NDArray[np.float64]
Rows = NDArray[np.int64]
Flags = NDArray[np.bool_]
Single = NDArray[np.float32]

WAVELENGTHS_NM: Array = np.arange(400.0, 701.0, 10.0)
BANDS = len(WAVELENGTHS_NM)
COARSEST_NM = 20.0  # the coarsest step in which spectrophotometers report

OBSERVER = "CIE 1964 10 Degree Standard Observer"
ILLUMINANT = "D65"


@cache
def weights() -> Array:
    """Return the weights that turn a reflectance into XYZ, Y = 100 for the perfect white.

    Returns
    -------
    weights : (31, 3) float array
        Illuminant times colour matching functions on the grid. [unitless]

    References
    ----------
    .. [1] CIE 15:2018, Colorimetry, 4th ed.; ISO/CIE 11664-1 and -2 (tables of colour-science).
    """
    colour = colour_science()

    shape = colour.SpectralShape(400, 700, 10)
    observer = colour.MSDS_CMFS[OBSERVER].copy().align(shape).values
    illuminant = colour.SDS_ILLUMINANTS[ILLUMINANT].copy().align(shape).values
    product = observer * illuminant[:, None]
    return np.asarray(100.0 * product / product[:, 1].sum())


@cache
def white() -> Array:
    """Return XYZ of the perfect white on the grid, shape (3,), Y = 100."""
    return np.asarray(weights().sum(axis=0))


def resample(wavelengths_nm: ArrayLike, reflectance: ArrayLike) -> Array:
    """Return a measured reflectance on the grid.

    Between the values a shape-preserving cubic runs, which never leaves their range.

    Parameters
    ----------
    wavelengths_nm : (n,) array
        Rising, covering 400 to 700, no step above 20. [nm]
    reflectance : (n,) array
        0 to 1. [unitless]

    Returns
    -------
    reflectance : (31,) float array

    Raises
    ------
    ValueError
        If the spectrum is unsorted, too short, too coarse, not finite or outside 0..1.

    References
    ----------
    .. [1] Fritsch & Butland 1984, SIAM J. Sci. Stat. Comput. 5:300-304 (scipy's
       PchipInterpolator).
    """
    nm = np.asarray(wavelengths_nm, dtype=float)
    values = np.asarray(reflectance, dtype=float)
    if nm.ndim != 1 or nm.shape != values.shape or nm.size < 2:
        raise EngineRefusal(
            "wavelengths",
            "wavelengths_nm [nm] and reflectance [unitless] need the same length, one "
            f"dimension, given shapes {nm.shape} and {values.shape}",
        )
    if not np.all(np.isfinite(nm)):
        text = "wavelengths_nm [nm] holds values that are not finite numbers"
        raise EngineRefusal("wavelengths", text)
    falls = np.flatnonzero(np.diff(nm) <= 0)
    if len(falls):
        raise EngineRefusal(
            "wavelengths",
            f"wavelengths_nm [nm] must rise without repeats, given {nm[falls[0] + 1]:g} "
            f"after {nm[falls[0]]:g}",
        )
    if nm[0] > WAVELENGTHS_NM[0] or nm[-1] < WAVELENGTHS_NM[-1]:
        raise EngineRefusal(
            "wavelengths",
            f"wavelengths_nm [nm] must cover 400 to 700, given {nm[0]:g} to {nm[-1]:g}",
        )
    if np.diff(nm).max() > COARSEST_NM:
        raise EngineRefusal(
            "wavelengths",
            f"wavelengths_nm [nm] must step by {COARSEST_NM:g} at most, "
            f"given a step of {np.diff(nm).max():g}",
        )
    from scipy.interpolate import PchipInterpolator

    curve = PchipInterpolator(nm, checked_reflectance(values, name="reflectance"))
    return np.asarray(np.clip(curve(WAVELENGTHS_NM), 0.0, 1.0))


def checked_reflectance(values: Any, *, name: str) -> Array:
    """Return `values` as floats, or raise ValueError where they are not within 0..1."""
    try:
        array = np.asarray(values, dtype=float)
    except (TypeError, ValueError):
        raise EngineRefusal(
            "no_reflectance", f"{name} [unitless] must be numbers, given {values!r}"
        ) from None
    if array.size == 0 or not np.all(np.isfinite(array)):
        raise EngineRefusal(
            "no_reflectance", f"{name} [unitless] holds values that are not finite numbers"
        )
    if array.min() < 0.0 or array.max() > 1.0:
        raise EngineRefusal(
            "no_reflectance",
            f"{name} [unitless] must lie within 0..1, given {array.min():g}..{array.max():g}",
        )
    return array
