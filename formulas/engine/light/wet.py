"""Damp hair: water on the fibres sends more light back into them.

A wet surface absorbs A = a / (1 - p (1 - a)) of what a dry one absorbs as a = 1 - R; p = 0.472
is the share that water (n = 1.33) throws back inwards. In K/S that is a factor
1 / ((1 - p) (1 - p R)). Together with the smaller reflection where water meets the fibre it
becomes 2.0 at dry L* 20 and 2.7 at dry L* 80. No ratio measured on hair was found, so the
result is an estimate.

References
----------
.. [1] Lekner & Dorf 1988, "Why some things are darker when wet", Appl. Opt. 27:1278.
.. [2] Twomey, Bohren & Mergenthaler 1986, Appl. Opt. 25:431.
"""

import numpy as np
from numpy.typing import ArrayLike

from formulas.engine.light.colorimetry import lab_to_xyz
from formulas.engine.light.grid import Array

THROWN_BACK = 0.472
# The smaller reflection between water and fibre, from the published 2.0 at dry L* 20.
FACE = 1.041


def wetting_ratio(dry_lightness: ArrayLike) -> Array:
    """Return the factor on K/S by which wetting darkens, from dry L* (...). [unitless]"""
    lightness = np.asarray(dry_lightness, dtype=float)
    grey = np.stack([lightness, np.zeros_like(lightness), np.zeros_like(lightness)], axis=-1)
    reflectance = np.clip(lab_to_xyz(grey)[..., 1] / 100.0, 0.0, 1.0)
    return np.asarray(FACE / ((1.0 - THROWN_BACK) * (1.0 - THROWN_BACK * reflectance)))
