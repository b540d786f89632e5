"""The frontier: mixes that no other mix beats in both coolness and lightness."""

from dataclasses import dataclass

import numpy as np

from formulas.engine.light.grid import Rows, Single
from formulas.engine.prediction.candidates import Readings
from formulas.engine.toner.mixes import MixSpace

_SAME = 9  # decimals within which two readings are one
_MOST_BINS = 20000


@dataclass(frozen=True, eq=False)
class Pool:
    """Mixes at hand for ranking.

    Attributes
    ----------
    evaluated : int
        How many mixes were read or bounded: all that the stock can fill.
    rows : (n,) int array
        Their row numbers.
    warmth, lightness : (n,) float32 arrays
        Warmth left (%) and L**; -inf in `lightness` where the stock is too short.
    tolerance : (float, float)
        How far warmth and L** can be off.
    """

    evaluated: int
    rows: Rows
    warmth: Single
    lightness: Single
    tolerance: tuple[float, float]


class Floor:
    """What a mix must reach at its warmth so as not to be beaten for certain.

    Warmth is cut into bins wider than its tolerance. A mix two bins cooler is cooler indeed;
    if it is lighter too, by more than the tolerances together, it beats the warmer one.

    Parameters
    ----------
    low, high : float
        Range of warmth left; cooler mixes are never held to be beaten. [%]
    tolerance : (float, float)
        How far warmth (%) and L** of a mix can be off.
    """

    def __init__(self, low: float, high: float, tolerance: tuple[float, float]) -> None:
        width = max(4.0 * tolerance[0], 0.02, (high - low) / _MOST_BINS)
        self._low = np.float32(low)
        self._per_percent = np.float32(1.0 / width)
        self._margin = np.float32(2.0 * tolerance[1])
        self._best = np.full(int((high - low) / width) + 2, -np.inf, np.float32)
        self._so_far = self._best.copy()
        self._beaten_below = self._best.copy()

    def bins(self, warmth: Single) -> Rows:
        """Return the bin of each warmth (n,)."""
        place = (warmth - self._low) * self._per_percent
        return np.asarray(np.clip(place, 0, len(self._best) - 1), dtype=np.int64)

    def rise(self, bins: Rows, lightness: Single) -> None:
        """Raise the floor to the mixes with these bins and L** (n,)."""
        better = np.flatnonzero(lightness > self._so_far[bins])
        if not len(better):
            return
        np.maximum.at(self._best, bins[better], lightness[better])
        np.maximum.accumulate(self._best, out=self._so_far)
        self._beaten_below[2:] = self._so_far[:-2] - self._margin

    def passing(self, bins: Rows, lightness: Single, slack: float = 0.0) -> Rows:
        """Return the places that may not be beaten, or lie no more than `slack` (L**) below."""
        return np.flatnonzero(lightness >= (self._beaten_below - np.float32(slack))[bins])


def may_lead(pool: Pool) -> Rows:
    """Return the row numbers that may lie on the frontier; all others provably do not."""
    floor = Floor(float(pool.warmth.min()), float(pool.warmth.max()), pool.tolerance)
    bins = floor.bins(pool.warmth)
    # A sample first: it spares most rows the slower exact maximum.
    floor.rise(bins[::16], pool.lightness[::16])
    floor.rise(bins, pool.lightness)
    here = floor.passing(bins, pool.lightness)
    return np.asarray(pool.rows[here[pool.lightness[here] > -np.inf]])


def leading(readings: Readings, space: MixSpace) -> Rows:
    """Return the row numbers that no other row beats, warmest first.

    Of mixes that read the same, the one with fewer shades stays, then by name.
    """
    shades, parts = space.decode(readings.rows)
    warmth, looks = readings.warmth.round(_SAME), readings.looks.round(_SAME)
    names = [column for pair in zip(shades.T, parts.T, strict=True) for column in pair]
    # The last key is the first to count.
    order = np.lexsort([*reversed(names), (shades >= 0).sum(axis=1), looks, warmth])
    before = np.concatenate([[np.inf], np.minimum.accumulate(looks[order])[:-1]])
    return np.asarray(readings.rows[order[looks[order] < before]][::-1])
