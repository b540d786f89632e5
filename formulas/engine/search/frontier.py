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
    lab : (3, n) float32 array or None
        Their L*a*b*, good to 0.001, where they were asked for.
    """

    evaluated: int
    rows: Rows
    warmth: Single
    lightness: Single
    tolerance: tuple[float, float]
    lab: Single | None = None


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
    coolest : float or None
        Cooler mixes are left out: they beat none and never pass. [%]
    """

    def __init__(
        self,
        low: float,
        high: float,
        tolerance: tuple[float, float],
        coolest: float | None = None,
    ) -> None:
        # Between the two it is not sure on which side of the coolest a mix lies.
        self._out, self._sure = -np.inf, -np.inf
        if coolest is not None:
            self._out, self._sure = coolest - tolerance[0], coolest + tolerance[0]
        width = max(4.0 * tolerance[0], 0.02, (high - low) / _MOST_BINS)
        self._low = np.float32(low)
        self._per_percent = np.float32(1.0 / width)
        self._margin = np.float32(2.0 * tolerance[1])
        self._best = np.full(int((high - low) / width) + 2, -np.inf, np.float32)
        self._so_far = self._best.copy()
        self._beaten_below = self._best.copy()

    def take(self, warmth: Single, lightness: Single, slack: float = 0.0) -> Rows:
        """Raise the floor to mixes (n,), and return the places that may not be beaten.

        Or that lie no more than `slack` (L**) below; -inf in `lightness` never passes.
        """
        bins = self.bins(warmth)
        sure = lightness
        if self._sure > -np.inf:
            sure = np.where(warmth >= self._sure, lightness, np.float32(-np.inf))
        # A sample first: it spares most rows the slower exact maximum.
        self.rise(bins[::16], sure[::16])
        self.rise(bins, sure)
        return self.passing(warmth, lightness, slack)

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

    def passing(self, warmth: Single, lightness: Single, slack: float = 0.0) -> Rows:
        """Return the places that may not be beaten, or lie no more than `slack` (L**) below."""
        below = (self._beaten_below - np.float32(slack))[self.bins(warmth)]
        here = np.flatnonzero(lightness >= below)
        here = here[lightness[here] > -np.inf]
        return here if self._out == -np.inf else here[warmth[here] >= self._out]


def may_lead(pool: Pool, coolest: float | None = None) -> Rows:
    """Return the row numbers that may lie on the frontier; all others provably do not.

    `coolest`: see `Floor`.
    """
    low, high = float(pool.warmth.min()), float(pool.warmth.max())
    floor = Floor(low, high, pool.tolerance, coolest)
    return np.asarray(pool.rows[floor.take(pool.warmth, pool.lightness)])


def leading(readings: Readings, space: MixSpace, coolest: float | None = None) -> Rows:
    """Return the row numbers that no other row beats, warmest first.

    `coolest`: cooler mixes are left out. [%]
    Of mixes that read the same, the one with fewer shades stays, then by name.
    """
    if coolest is not None:
        readings = readings.at(np.flatnonzero(readings.warmth >= coolest))
    if not len(readings.rows):
        return readings.rows
    shades, parts = space.decode(readings.rows)
    warmth, looks = readings.warmth.round(_SAME), readings.looks.round(_SAME)
    names = [column for pair in zip(shades.T, parts.T, strict=True) for column in pair]
    # The last key is the first to count.
    order = np.lexsort([*reversed(names), (shades >= 0).sum(axis=1), looks, warmth])
    before = np.concatenate([[np.inf], np.minimum.accumulate(looks[order])[:-1]])
    return np.asarray(readings.rows[order[looks[order] < before]][::-1])
