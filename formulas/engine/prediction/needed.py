"""How much of the needed pigment a mix carries."""

import numpy as np

from formulas.engine.hair.appearance import Judge
from formulas.engine.light.grid import BANDS, Array
from formulas.engine.prediction.terms import read
from formulas.engine.toner.deposit import Bed

# Taken out is what leaves a fifth of the warmth or less (model assumption).
ENOUGH_PERCENT = 20.0
# Beyond twenty times the pigment nothing but darkness takes warmth out.
_MOST = 20.0
_STEPS = 240


def pigment_carried(bed: Bed, fractions: Array, judge: Judge) -> float | None:
    """Return a mix's tone pigment as a share of what would bring the warmth to a fifth.

    The tone pigment alone is multiplied, the neutral background stays, and only the way down
    counts: where more of it begins to bring a cast instead, the mix does not get there.

    Returns
    -------
    share : float or None
        1 or more: it carries enough. None: no amount of this tone gets there.
    """
    tone = fractions @ bed.tone_loads
    swatches = _swatches(bed, fractions)
    neutral = fractions @ bed.neutral_loads - swatches
    tone = tone + swatches
    if not tone.any():
        return None
    scales = np.concatenate([[0.0], np.geomspace(0.02, _MOST, _STEPS)])
    warmth = read(judge, bed.reflectance(neutral + scales[:, None] * tone))[:, 0]
    rising = np.flatnonzero(np.diff(warmth) > 0)
    until = rising[0] + 1 if len(rising) else len(warmth)
    enough = np.flatnonzero(warmth[:until] <= ENOUGH_PERCENT)
    if not len(enough):
        return None
    return float(1.0 / max(scales[enough[0]], 1.0 / _MOST))


def _swatches(bed: Bed, fractions: Array) -> Array:
    """Return K/S of the measured shades in a mix, (31,); they cannot be told apart."""
    total = np.zeros(BANDS)
    factor = float(np.prod(list(bed.factors.values())))
    for i in np.flatnonzero(fractions):
        if "swatch" in bed.parts[i]:
            total += fractions[i] * bed.learned[i] * factor * bed.parts[i]["swatch"]
    return total
