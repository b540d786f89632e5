"""Reflectance to XYZ, CIE L*a*b*, dE00 and screen colours."""

from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from formulas.engine.checks import EngineRefusal
from formulas.engine.light.grid import BANDS, Array, weights, white
from formulas.engine.light.library import colour_science

_DELTA = 6.0 / 29.0


def reflectance_to_xyz(reflectance: ArrayLike) -> Array:
    """Return XYZ under D65 for the 10 degree observer.

    Parameters
    ----------
    reflectance : (..., 31) float array
        On the grid 400 to 700 nm. [unitless]

    Returns
    -------
    xyz : (..., 3) float array
        Y = 100 for the perfect white. [unitless]

    Raises
    ------
    ValueError
        If the last axis is not 31.

    References
    ----------
    .. [1] CIE 15:2018.
    """
    r = np.asarray(reflectance, dtype=float)
    if r.ndim == 0 or r.shape[-1] != BANDS:
        raise ValueError(f"reflectance needs {BANDS} bands on its last axis, given {r.shape}")
    return np.asarray(r @ weights())


def xyz_to_lab(xyz: ArrayLike) -> Array:
    """Return CIE L*a*b* of `xyz` against the grid's own white.

    Parameters
    ----------
    xyz : (..., 3) float array
        Y = 100 for the perfect white. [unitless]

    Returns
    -------
    lab : (..., 3) float array

    Raises
    ------
    ValueError
        If the last axis is not 3.

    References
    ----------
    .. [1] CIE 15:2018; ISO/CIE 11664-4.
    """
    t = np.asarray(xyz, dtype=float)
    if t.ndim == 0 or t.shape[-1] != 3:
        raise ValueError(f"xyz needs 3 values on its last axis, given {t.shape}")
    t = t / white()
    f = np.where(t > _DELTA**3, np.cbrt(t), t / (3 * _DELTA**2) + 4.0 / 29.0)
    lightness = 116.0 * f[..., 1] - 16.0
    a = 500.0 * (f[..., 0] - f[..., 1])
    b = 200.0 * (f[..., 1] - f[..., 2])
    return np.stack([lightness, a, b], axis=-1)


def lab_to_xyz(lab: ArrayLike) -> Array:
    """Return XYZ (Y = 100 for the perfect white) of `lab`, both (..., 3); see `xyz_to_lab`."""
    values = np.asarray(lab, dtype=float)
    if values.ndim == 0 or values.shape[-1] != 3:
        raise ValueError(f"lab needs 3 values on its last axis, given {values.shape}")
    fy = (values[..., 0] + 16.0) / 116.0
    f = np.empty(values.shape)
    f[..., 0] = fy + values[..., 1] / 500.0
    f[..., 1] = fy
    f[..., 2] = fy - values[..., 2] / 200.0
    t = np.where(f > _DELTA, f * f * f, 3 * _DELTA**2 * (f - 4.0 / 29.0))
    return np.asarray(t * white())


def reflectance_to_lab(reflectance: ArrayLike) -> Array:
    """Return L*a*b* (..., 3) of a reflectance (..., 31); D65, 10 degrees."""
    return xyz_to_lab(reflectance_to_xyz(reflectance))


def delta_e_2000(lab_1: ArrayLike, lab_2: ArrayLike) -> Array:
    """Return CIEDE2000 between two arrays of L*a*b*, shape (..., 3), by colour-science.

    References
    ----------
    .. [1] Sharma, Wu & Dalal 2005, Color Res. Appl. 30(1):21-30.
    """
    colour = colour_science()

    return np.asarray(
        colour.difference.delta_E_CIE2000(np.asarray(lab_1, float), np.asarray(lab_2, float))
    )


@cache
def _to_linear_srgb() -> Array:
    """Return the (3, 3) matrix from XYZ (D65, 10 degrees, Y = 1) to linear sRGB.

    Adapted to sRGB's own white (D65, 2 degrees) by CAT02, both by colour-science.
    """
    colour = colour_science()

    space = colour.RGB_COLOURSPACES["sRGB"]
    source = white() / 100.0
    target = colour.xy_to_XYZ(space.whitepoint)
    adapt = colour.adaptation.matrix_chromatic_adaptation_VonKries(
        source, target, transform="CAT02"
    )
    return np.asarray(space.matrix_XYZ_to_RGB @ adapt)


def lab_to_hex(lab: ArrayLike) -> str:
    """Return the screen colour of one L*a*b*, as "#rrggbb".

    Where sRGB cannot show the colour its chroma is lowered until it can; lightness and hue
    stay, so that swatches remain true to each other in depth.

    Raises
    ------
    ValueError
        If `lab` is not three finite numbers.

    References
    ----------
    .. [1] IEC 61966-2-1 (sRGB; matrices and encoding of colour-science).
    """
    colour = colour_science()

    wanted = np.asarray(lab, dtype=float)
    if wanted.shape != (3,) or not np.all(np.isfinite(wanted)):
        text = f"lab [L*a*b*] needs 3 finite values, given {lab!r}"
        raise EngineRefusal("no_colour", text)
    rgb = _shown(wanted, chroma=1.0)
    if not _on_screen(rgb):
        low, high, rgb = 0.0, 1.0, _shown(wanted, chroma=0.0)
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            trial = _shown(wanted, chroma=middle)
            if _on_screen(trial):
                low, rgb = middle, trial
            else:
                high = middle
    encoded = colour.models.eotf_inverse_sRGB(np.clip(rgb, 0.0, 1.0))
    return "#" + "".join(f"{round(float(value) * 255):02x}" for value in encoded)


def hex_to_lab(code: str) -> Array:
    """Return the L*a*b*, (3,), of a screen colour "#rrggbb": the inverse of `lab_to_hex`.

    References
    ----------
    .. [1] IEC 61966-2-1 (sRGB; matrices and encoding of colour-science).
    """
    colour = colour_science()

    encoded = np.array([int(code[at : at + 2], 16) for at in (1, 3, 5)]) / 255.0
    linear = np.asarray(colour.cctf_decoding(encoded, function="sRGB"))
    return xyz_to_lab(np.linalg.solve(_to_linear_srgb(), linear) * 100.0)


_HALVINGS = 12
_SCREEN_SLACK = 1e-4  # a fortieth of a step of 8 bits: sRGB's published matrices are rounded


def _shown(lab: Array, *, chroma: float) -> Array:
    """Return linear sRGB of `lab` with a share of its chroma, not yet clipped."""
    return np.asarray(_to_linear_srgb() @ (lab_to_xyz(lab * [1.0, chroma, chroma]) / 100.0))


def _on_screen(rgb: Array) -> bool:
    return bool(rgb.min() >= -_SCREEN_SLACK and rgb.max() <= 1.0 + _SCREEN_SLACK)
