"""How wide ranges need to be, as results that were left out say.

Each client's results are predicted from the others; the factor on the range that would have
held 19 in 20 of them is what this salon's results earn (split conformal prediction, with the
range's own width as the scale). The eye's own error is taken out of each miss first, since the
range is about the hair. Few results move the factor little: the model's own doubt counts as
`PRIOR_RESULTS` of them.

References
----------
.. [1] Lei, G'Sell, Rinaldo, Tibshirani & Wasserman 2018, J. Am. Stat. Assoc. 113:1094-1111
   (conformal prediction with locally weighted residuals; from memory).
"""

import numpy as np

from formulas.engine.light.grid import Array
from formulas.engine.prediction.doubts import (
    MODEL_LEVELS,
    MODEL_WARMTH,
    NARROWEST,
    WIDEST,
)
from formulas.engine.prediction.ranged import COVERAGE
from formulas.engine.visits.hierarchy import Fitted
from formulas.engine.visits.observing import (
    EYE_LEVELS,
    EYE_WARMTH,
    MEASURED_LEVELS,
    MEASURED_WARMTH,
)
from formulas.engine.visits.table import Table

HELD = 0.95
PRIOR_RESULTS = 12.0
# Results that were noted wrongly say nothing of ranges: those that weigh less than this.
_NOTED_WRONGLY = 0.3


def range_factor(
    table: Table, fitted: Fitted, strengths: Array, own: Array, deposit: float
) -> tuple[float, float]:
    """Return the factors on ranges of depth and of warmth that results have earned.

    The last three as `standard_doubts` takes them.
    """
    doubtful = standard_doubts(table, strengths, own, deposit)
    eye = np.array([EYE_LEVELS, EYE_WARMTH]), np.array([MEASURED_LEVELS, MEASURED_WARMTH])
    # What a prediction does not know counts as missed: the salon's offset, a zone read lighter,
    # and what all readers have in common. Only how a reader differs from the others does not.
    unknown = fitted.part("salon level", "salon warmth", "start level") + _common(table, fitted)
    found = []
    for channel in (0, 1):
        rows = np.flatnonzero(
            (table.channel == channel) & (fitted.weights[table.owner] >= _NOTED_WRONGLY)
        )
        owner = table.owner[rows]
        measured = np.array([table.results[n].lab is not None for n in owner], dtype=bool)
        own = np.where(measured, eye[1][channel], eye[0][channel])
        missed = np.abs(fitted.held_out[rows] + unknown[rows]) / COVERAGE
        hair = np.maximum(missed**2 - own**2 + table.shared[rows], 0.0)
        needed = np.sqrt(hair) / doubtful[owner, channel]
        found.append(_earned(needed))
    return found[0], found[1]


def _common(table: Table, fitted: Fitted) -> Array:
    """Return the mean over readings by eye of how their readers read, for each such row."""
    found = np.zeros(len(table.owner))
    habit = fitted.part("reader level", "reader warmth")
    for channel in (0, 1):
        rows = table.kind == channel
        if rows.any():
            found[rows] = habit[rows].mean()
    return found


def _earned(needed: Array) -> float:
    count = len(needed)
    place = int(np.ceil((count + 1) * HELD))
    if place > count:
        return 1.0
    held = float(np.sort(needed)[place - 1])
    blended = np.sqrt((PRIOR_RESULTS + count * held**2) / (PRIOR_RESULTS + count))
    return float(np.clip(blended, NARROWEST, WIDEST))


def standard_doubts(table: Table, strengths: Array, own: Array, deposit: float) -> Array:
    """Return the standard doubt of each prediction, level and % warmth, (n, 2).

    The doubts of `predict`, each moved to one side only.

    Parameters
    ----------
    table : Table
    strengths, own : (m,) float arrays
        Factors on the shades, and their relative standard doubts. [unitless]
    deposit : float
        Relative standard doubt of what the whole deposit shares. [unitless]
    """
    rows = np.concatenate(
        [np.zeros((1, len(own))), np.full((1, len(own)), deposit), np.diag(own)]
    )
    scales = strengths * (1.0 + rows)
    every = np.broadcast_to(scales, (len(table.results), *scales.shape))
    read = table.batch.predicted(every)[..., :2]
    others = [batch.predicted(every[:, :1])[..., :2] for batch in table.moved]
    moved = np.concatenate([read[:, 1:], *others], axis=1) - read[:, :1]
    model = np.array([MODEL_LEVELS, MODEL_WARMTH])
    return np.asarray(np.sqrt((moved**2).sum(axis=1) + model**2))
