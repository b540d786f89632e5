"""The frontier: mixes that no other mix beats in both coolness and lightness."""

from collections.abc import Sequence

import numpy as np

from formulas.engine.candidates import Candidate
from formulas.engine.grid import Rows, Single

_SAME = 9  # decimals within which two readings are one


def may_lead(
    warmth: Single, lightness: Single, tolerance: tuple[float, float], slack: float = 0.0
) -> Rows:
    """Return the places that may lie on the frontier; all others provably do not.

    Parameters
    ----------
    warmth, lightness : (n,) float32 arrays
        Warmth left (%) and L**; NaN in `warmth` where a mix is left out.
    tolerance : (float, float)
        How far either can be off.
    slack : float
        Keep also what lies this far below, in L**.

    Notes
    -----
    Warmth is cut into bins wider than its tolerance. A mix two bins cooler is cooler indeed;
    if it is lighter too, by more than the tolerances together, it beats the warmer one.
    """
    valid = np.flatnonzero(~np.isnan(warmth))
    if not len(valid):
        return valid
    w = warmth if len(valid) == len(warmth) else warmth[valid]
    light = lightness if len(valid) == len(warmth) else lightness[valid]
    width = max(4.0 * tolerance[0], 0.02)
    low, high = float(w.min()), float(w.max())
    width = max(width, (high - low) / 20000.0)
    bins = ((w - np.float32(low)) * np.float32(1.0 / width)).astype(np.int64)
    best = np.full(int(bins.max()) + 1, -np.inf, np.float32)
    # The best of a sample first: it spares most rows the slower exact maximum.
    sample = slice(None, None, 16)
    np.maximum.at(best, bins[sample], light[sample])
    near = np.flatnonzero(light > np.maximum.accumulate(best)[bins])
    np.maximum.at(best, bins[near], light[near])
    cooler = np.concatenate([[-np.inf, -np.inf], np.maximum.accumulate(best)[:-2]])
    floor = (cooler - 2.0 * tolerance[1] - slack).astype(np.float32)
    return valid[light >= floor[bins]]


def leading(found: Sequence[Candidate]) -> list[Candidate]:
    """Return those of `found` that no other beats, warmest first.

    Of mixes that read the same, the one with fewer shades stays, then by name.
    """

    def key(one: Candidate) -> tuple:
        return (
            round(one.warmth_left_percent, _SAME),
            round(one.levels_deeper_looks, _SAME),
            len(one.parts),
            one.parts,
        )

    kept: list[Candidate] = []
    lightest = np.inf
    for one in sorted(found, key=key):
        if round(one.levels_deeper_looks, _SAME) < lightest:
            kept.append(one)
            lightest = round(one.levels_deeper_looks, _SAME)
    return kept[::-1]
