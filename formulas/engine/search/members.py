"""A zone of the head: its mixes, and which of them may be near a colour."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from formulas.engine.hair.appearance import Judge
from formulas.engine.hair.chart import LEVELS
from formulas.engine.light.grid import Array, Rows, Single
from formulas.engine.search.clouds import Cloud

# Up to here, in CIEDE2000, a zone looks like the common colour (model assumption: on hair,
# which is never one flat colour).
EVEN = 1.0
# Cells of one unit of L*, of warmth and of cast (in a*b*), in which mixes are looked up.
_CELLS = (104, 120, 60)
_FIRST_CELL = (-2.0, -30.0, -30.0)
_BOXES = 20


@dataclass(frozen=True, eq=False)
class Member:
    """A zone of the head: its mixes, and by how many levels it is to be deeper."""

    cloud: Cloud
    deeper: float
    judge: Judge

    def targets(self, lab: Array) -> Array:
        """Return the colours (n, 3) that this zone is to have where the head has `lab`."""
        if self.deeper == 0.0:
            return lab
        lightness = _at_level(self.judge.level(lab) - self.deeper, self._natural)
        shift = self.judge.natural_ab(lightness) - self.judge.natural_ab(lab[:, 0])
        return np.column_stack([lightness, lab[:, 1:] + shift])

    def without_wish(self, lightness: Array) -> Array:
        """Return the L* (n,) that the head has where this zone has `lightness`."""
        if self.deeper == 0.0:
            return lightness
        steps: Array = np.arange(0.0, 101.0, 0.25)
        level = self.judge.level(np.stack([steps, steps, steps], axis=-1))
        return np.interp(lightness, steps, _at_level(level + self.deeper, self._natural))

    def near(self, lab: Array, most: float = EVEN) -> Cloud:
        """Return the mixes that may be up to `most` from one of the colours (n, 3), and more.

        `most` is in CIEDE2000; what is even with a colour if left out.
        """
        wanted = np.zeros(_CELLS, dtype=bool)
        middle = _axes(self.judge, lab)
        across, along = self._reach(self.targets(lab), most)
        reach = np.stack([across, along, along], axis=1)
        low, high = _cell(middle - reach), _cell(middle + reach) + 1
        if most > EVEN:  # large boxes overlap: a few that hold them all are filled sooner
            starts = np.arange(0, len(lab), len(lab) // _BOXES + 1)
            low, high = np.minimum.reduceat(low, starts), np.maximum.reduceat(high, starts)
        for (l0, w0, c0), (l1, w1, c1) in zip(low, high, strict=True):
            wanted[l0:l1, w0:w1, c0:c1] = True
        return self.cloud.only(wanted.ravel()[self._cells])

    def ceiling(self, lab: Array) -> Array:
        """Return an L* (n,) that colours of the same warmth and cast do not exceed if even."""
        from scipy.ndimage import maximum_filter

        across, along = self._reach(self.targets(lab), EVEN)
        size = 2 * int(np.ceil(along.max())) + 3
        best = maximum_filter(self._lightest, size=size, mode="constant", cval=-np.inf)
        _lightness, warmth, cast = _cell(_axes(self.judge, lab)).T
        return np.asarray(best[warmth, cast] + across)

    def _reach(self, lab: Array, most: float) -> tuple[Array, Array]:
        """Return how far L*, and warmth or cast, may be from these (n,) up to `most`.

        By the largest weights of CIEDE2000 near each colour, equations (4), (15) and (16) of
        Sharma et al. 2005.
        """
        from_middle = (np.abs(lab[:, 0] - 50.0) + 2.0 * most) ** 2
        across = (1.0 + 0.015 * from_middle / np.sqrt(20.0 + from_middle)) * most
        chroma = 1.15 * np.hypot(lab[:, 1], lab[:, 2]) + 4.0 * most
        along = (1.0 + 0.045 * chroma) * most + self._slope * across
        if self.deeper:
            steps = np.diff(self._natural)
            across = across * (steps.max() / steps.min())
        return across, along

    @property
    def _natural(self) -> Array:
        return self.judge.chart.natural_lab[:, 0]

    @cached_property
    def _slope(self) -> float:
        """How fast a*, b* of natural hair change with L*, at most."""
        steps = np.arange(0.0, 100.0, 0.5)
        return float(np.hypot(*np.diff(self.judge.natural_ab(steps), axis=0).T).max() / 0.5)

    @cached_property
    def _at(self) -> tuple[Single, Single, Single]:
        """L* without the wish, warmth and cast of every mix, (n,) each, within 0.1."""
        lightness, a, b = self.cloud.lab
        along, across = self.judge.axis.astype(np.float32)
        table = self.judge.natural_ab(np.arange(0.0, 101.0, 0.125)).astype(np.float32)
        place = np.clip(lightness * np.float32(8.0) + np.float32(0.5), 0, len(table) - 1)
        natural = table.T[:, place.astype(np.int32)]
        a, b = a - natural[0], b - natural[1]
        if self.deeper:
            lightness = self.without_wish(lightness).astype(np.float32)
        return lightness, a * along + b * across, b * along - a * across

    @cached_property
    def _cells(self) -> NDArray[np.int32]:
        cells = np.zeros(len(self.cloud.rows), dtype=np.int32)
        for values, first, count in zip(self._at, _FIRST_CELL, _CELLS, strict=True):
            cells *= count
            cells += np.clip(values - np.float32(first), 0, count - 1).astype(np.int32)
        return cells

    @cached_property
    def _lightest(self) -> Array:
        """The largest L* of the mixes by cell of warmth and cast."""
        # Of one type and in one piece: so numpy takes its quick way through.
        lightness = np.ascontiguousarray(self._at[0])
        best = np.full(_CELLS[1] * _CELLS[2], -np.inf, dtype=lightness.dtype)
        np.maximum.at(best, self._cells % len(best), lightness)
        return best.reshape(_CELLS[1:]).astype(np.float64)


def _axes(judge: Judge, lab: Array) -> Array:
    """Return L*, warmth and cast (n, 3) in units of L*a*b*."""
    across = np.array([[judge.axis[0], -judge.axis[1]], [judge.axis[1], judge.axis[0]]])
    return np.column_stack([lab[:, 0], (lab[:, 1:] - judge.natural_ab(lab[:, 0])) @ across])


def _cell(axes: Array) -> Rows:
    cell = np.clip(axes - np.array(_FIRST_CELL), 0, np.array(_CELLS) - 1)
    return np.asarray(cell.astype(np.int64))


def _at_level(level: Array, natural: Array) -> Array:
    """Return the L* (n,) of natural hair of a level, straight on past the chart."""
    top = (natural[-1] - natural[-2]) / 0.5
    bottom = (natural[1] - natural[0]) / 0.5
    inside = np.interp(level, LEVELS, natural)
    above = natural[-1] + (level - LEVELS[-1]) * top
    below = natural[0] - (LEVELS[0] - level) * bottom
    return np.where(level > LEVELS[-1], above, np.where(level < LEVELS[0], below, inside))
