"""Kubelka and Munk's relation between reflectance and K/S of an opaque layer."""

import numpy as np
from numpy.typing import ArrayLike

from formulas.engine.checks import EngineRefusal
from formulas.engine.light.grid import Array

_SMALLEST_REFLECTANCE = 1e-4  # K/S of a perfect black is infinite


def to_ks(reflectance: ArrayLike) -> Array:
    """Return K/S = (1 - R)^2 / 2R.

    Parameters
    ----------
    reflectance : (...) float array
        Reflectance of an opaque layer, 0 to 1. [unitless]

    Returns
    -------
    ks : (...) float array
        Absorption over scattering. [unitless]

    Raises
    ------
    ValueError
        If a reflectance is not within 0..1.

    References
    ----------
    .. [1] E. Allen, "Colorant formulation and shading", in Grum & Bartleson (eds.), Optical
       Radiation Measurements 2, 1980, eq. 20.
    """
    r = np.asarray(reflectance, dtype=float)
    if not np.all(np.isfinite(r)) or np.any(r < 0.0) or np.any(r > 1.0):
        text = "reflectance [unitless] must be finite and within 0..1"
        raise EngineRefusal("no_reflectance", text)
    r = np.maximum(r, _SMALLEST_REFLECTANCE)
    return np.asarray((1.0 - r) ** 2 / (2.0 * r))


def to_reflectance(ks: ArrayLike) -> Array:
    """Return R = 1 + K/S - sqrt((K/S)^2 + 2 K/S).

    Written as 1 / (1 + K/S + sqrt((K/S)^2 + 2 K/S)), which is the same and loses no digits
    where K/S is large.

    Parameters
    ----------
    ks : (...) float array
        Absorption over scattering, 0 or more. [unitless]

    Returns
    -------
    reflectance : (...) float array
        0 to 1. [unitless]

    Raises
    ------
    ValueError
        If a K/S is negative or not a number.

    References
    ----------
    .. [1] Allen 1980, as in `to_ks`.
    """
    k = np.asarray(ks, dtype=float)
    if np.any(np.isnan(k)) or np.any(k < 0.0):
        raise ValueError("ks [unitless] must be 0 or more")
    return np.asarray(1.0 / (1.0 + k + np.sqrt(k * (k + 2.0))))
