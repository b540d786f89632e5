"""Recover a smooth reflectance from L*a*b*.

References
----------
.. [1] W. Jakob & J. Hanika 2019, "A low-dimensional function space for efficient spectral
   upsampling", Computer Graphics Forum 38(2):147-155: R = S(c0 w^2 + c1 w + c2) with
   S(x) = 1/2 + x / (2 sqrt(1 + x^2)). Three coefficients meet three numbers; the curve is
   smooth, stays within 0..1 and keeps rising towards red, as lightened hair does.

The coefficients are found here by a damped Newton iteration over many colours at once;
the tests compare the result with colour-science's own implementation of the paper.
"""

import numpy as np
from numpy.typing import ArrayLike

from formulas.engine.checks import EngineRefusal
from formulas.engine.light.colorimetry import reflectance_to_lab, reflectance_to_xyz, xyz_to_lab
from formulas.engine.light.grid import BANDS, WAVELENGTHS_NM, Array, weights

_ITERATIONS = 60
_CLOSE = 1e-7
_MISS = 1e-3


def recover_reflectance(lab: ArrayLike) -> Array:
    """Return the reflectance that shows `lab` under D65 for the 10 degree observer.

    Parameters
    ----------
    lab : (..., 3) float array
        Inside the range of real surfaces.

    Returns
    -------
    reflectance : (..., 31) float array
        0 to 1, smooth. [unitless]

    Raises
    ------
    ValueError
        If a colour is not finite, or no smooth reflectance below 1 shows it.
    """
    target = np.asarray(lab, dtype=float)
    if target.ndim == 0 or target.shape[-1] != 3 or not np.all(np.isfinite(target)):
        raise ValueError(f"lab needs 3 finite values on its last axis, given {target}")
    flat = target.reshape(-1, 3)
    if flat[:, 0].min() <= 0.0 or flat[:, 0].max() >= 100.0:
        worst = flat[int(np.abs(flat[:, 0] - 50.0).argmax())]
        text = f"lab [L*a*b*] needs an L* between 0 and 100, given {worst.tolist()}"
        raise EngineRefusal("lightness", text)
    try:
        with np.errstate(over="ignore", invalid="ignore"):  # steps towards impossible colours
            reflectance = _solve(flat)
    except np.linalg.LinAlgError:
        reflectance = np.full((len(flat), BANDS), np.nan)
    miss = np.abs(reflectance_to_lab(reflectance) - flat).max(axis=1)
    missed = ~(miss < _MISS)  # where it is not a number, too
    if missed.any():
        worst = flat[int(np.flatnonzero(missed)[0])].round(2)
        text = f"lab [L*a*b*] {worst.tolist()}: no smooth reflectance within 0..1 shows it"
        raise EngineRefusal("no_surface", text)
    return reflectance.reshape(*target.shape[:-1], -1)


def _solve(target: Array) -> Array:
    """Newton's method in L*a*b* for the three coefficients of each row, step by step damped."""
    x = (WAVELENGTHS_NM - 550.0) / 150.0
    powers = np.stack([x * x, x, np.ones_like(x)], axis=-1)  # (31, 3)
    luminance = np.clip(((target[:, 0] + 16.0) / 116.0) ** 3, 1e-4, 0.98)
    start = (2.0 * luminance - 1.0) / np.sqrt(1.0 - (2.0 * luminance - 1.0) ** 2)
    coefficients = np.stack([np.zeros_like(start), np.zeros_like(start), start], axis=-1)

    def show(c: Array) -> tuple[Array, Array]:
        u = c @ powers.T
        return 0.5 + u / (2.0 * np.sqrt(1.0 + u * u)), u

    reflectance, u = show(coefficients)
    miss = target - reflectance_to_lab(reflectance)
    for _ in range(_ITERATIONS):  # pragma: no branch - it settles or refuses long before
        if np.abs(miss).max() < _CLOSE:
            break
        slope = 0.5 * (1.0 + u * u) ** -1.5  # dS/du
        d_xyz = np.einsum("nb,bk,bc->nkc", slope, weights(), powers)
        jacobian = _lab_slope(reflectance_to_xyz(reflectance)) @ d_xyz
        step = np.linalg.solve(jacobian, miss[..., None])[..., 0]
        scale = np.ones(len(step))
        for _ in range(8):
            trial = coefficients + scale[:, None] * step
            new_reflectance, new_u = show(trial)
            new_miss = target - reflectance_to_lab(new_reflectance)
            worse = np.linalg.norm(new_miss, axis=1) > np.linalg.norm(miss, axis=1)
            if not worse.any():
                break
            scale[worse] *= 0.5
        coefficients, reflectance, u, miss = trial, new_reflectance, new_u, new_miss
    return reflectance


def _lab_slope(xyz: Array) -> Array:
    """Return d(L*a*b*)/d(XYZ), (n, 3, 3), by central differences."""
    slopes = np.empty((len(xyz), 3, 3))
    for k in range(3):
        h = np.zeros(3)
        h[k] = 1e-5
        slopes[:, :, k] = (xyz_to_lab(xyz + h) - xyz_to_lab(xyz - h)) / 2e-5
    return slopes
