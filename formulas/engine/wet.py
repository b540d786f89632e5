"""Damp hair: water between the fibres sends more light back into them.

Absorbed share A = (1 - Rl) a / (1 - p (1 - a)); for water p = 0.472, which raises K/S by a
factor from 2.0 (dry L* 20) to 2.7 (dry L* 80). No ratio measured on hair was found, so the
result is an estimate.

References
----------
.. [1] Lekner & Dorf 1988, Appl. Opt. 27:1278; Twomey et al. 1986, Appl. Opt. 25:431.
"""

import numpy as np
from numpy.typing import ArrayLike

from formulas.engine.grid import Array


def wetting_ratio(dry_lightness: ArrayLike) -> Array:
    """Return the factor on K/S by which wetting darkens, from dry L* (...)."""
    lightness = np.asarray(dry_lightness, dtype=float)
    return np.asarray(np.interp(lightness, [20.0, 80.0], [2.0, 2.7]))
