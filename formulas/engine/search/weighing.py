"""How a miss of warmth weighs against one of depth, in one place."""

import numpy as np
from numpy.typing import ArrayLike

from formulas.engine.light.grid import Array

# A miss of ten per cent of warmth weighs as much as a quarter of a level of depth: each is
# about what an eye lets pass (model assumption).
PERCENT_UNIT = 10.0
LEVELS_UNIT = 0.25


def weighed(warmth_percent: ArrayLike, levels_deeper: ArrayLike) -> Array:
    """Return the weight of a miss: 1 is what an eye lets pass; too light costs nothing.

    Parameters
    ----------
    warmth_percent : (...) float array
        Either way. [%]
    levels_deeper : (...) float array
        Deeper counts, lighter does not. [levels]
    """
    warmth = np.abs(np.asarray(warmth_percent, dtype=float)) / PERCENT_UNIT
    return np.asarray(warmth + np.maximum(levels_deeper, 0.0) / LEVELS_UNIT)
