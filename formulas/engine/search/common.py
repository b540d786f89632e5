"""The colours that a whole head could have, and which of them its zones reach together.

At each coolness the common colours differ in lightness and in cast, in steps that an eye
cannot tell apart. A colour is *even* where each zone has a mix that an eye cannot tell from
it. Taken is the lightest even one (or the one nearest to a wanted depth); where there is none,
the one whose worst zone is nearest, in quarter steps, and of those the lightest.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from scipy.ndimage import maximum_filter

from formulas.engine.hair.appearance import Judge
from formulas.engine.hair.chart import LEVELS
from formulas.engine.light.grid import Array, Flags, Rows, Single
from formulas.engine.search.clouds import LEAST_SHARE, Cloud, even_coordinates

# Up to here, in CIEDE2000, a zone looks like the common colour (model assumption: on hair,
# which is never one flat colour).
EVEN = 1.0
_UNEVEN_STEP = 0.25
# How far from a colour mixes are looked for where none is even, until some are found.
_REACHES = (2.0, 6.0, np.inf)
LIGHTNESS_STEP, CAST_STEP, MOST_CAST = 0.5, 1.5, 4.5
CASTS: Array = np.arange(-MOST_CAST, MOST_CAST + 0.01, CAST_STEP)
LIGHTNESSES: Array = np.arange(95.5, 5.9, -LIGHTNESS_STEP)
# So many of the lightnesses that are left are tried at first, then up to so many.
_STAGES = (0, 8, 24, len(LIGHTNESSES))
# Cells of one unit of L*, of warmth and of cast (in a*b*), in which mixes are looked up.
_CELLS = (104, 120, 60)
_FIRST_CELL = (-2.0, -30.0, -30.0)
_BATCH = 6
_MOST_BOXES = 400


@dataclass(frozen=True)
class Common:
    """A common colour.

    Attributes
    ----------
    warmth_percent : float
        Of the warmth that the head shows. [%]
    lab : (3,) float array
    worst : float
        How far the nearest mix of the zone that misses most is from it. [CIEDE2000]
    """

    warmth_percent: float
    lab: Array
    worst: float

    @property
    def is_even(self) -> bool:
        """Whether each zone has a mix that an eye cannot tell from it."""
        return self.worst <= EVEN


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
        """Return every mix up to `most` CIEDE2000 from a colour of (n, 3), and some more."""
        wanted = np.zeros(_CELLS, dtype=bool)
        middle = _axes(self.judge, lab)
        across, along = self._reach(self.targets(lab), most)
        reach = np.stack([across, along, along], axis=1)
        low, high = _cell(middle - reach), _cell(middle + reach) + 1
        if len(lab) > _MOST_BOXES:  # one box around all: what it lets in is soon ruled out
            low, high = low.min(axis=0)[None], high.max(axis=0)[None]
        for (l0, w0, c0), (l1, w1, c1) in zip(low, high, strict=True):
            wanted[l0:l1, w0:w1, c0:c1] = True
        return self.cloud.only(wanted.ravel()[self._cells])

    def ceiling(self, lab: Array) -> Array:
        """Return an L* (n,) that colours of the same warmth and cast do not exceed if even."""
        across, along = self._reach(self.targets(lab), EVEN)
        size = 2 * int(np.ceil(along.max())) + 3
        best = maximum_filter(self._lightest, size=size, mode="constant", cval=-np.inf)
        _lightness, warmth, cast = _cell(_axes(self.judge, lab)).T
        return np.asarray(best[warmth, cast] + across)

    def _reach(self, lab: Array, most: float) -> tuple[Array, Array]:
        """Return how far L*, and warmth or cast, may be from these (n,) up to a CIEDE2000.

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
    def _at(self) -> Array:
        """L* without the wish, warmth and cast of every mix, (n, 3)."""
        lightness = self.cloud.lab[0]
        axes = _axes(self.judge, self.cloud.lab.T, quickly=True)
        if self.deeper:
            axes[:, 0] = self.without_wish(lightness)
        return axes

    @cached_property
    def _cells(self) -> Rows:
        cell = _cell(self._at)
        return np.asarray((cell[:, 0] * _CELLS[1] + cell[:, 1]) * _CELLS[2] + cell[:, 2])

    @cached_property
    def _lightest(self) -> Array:
        """The largest L* of the mixes by cell of warmth and cast."""
        # Of one type and in one piece: so numpy takes its quick way through.
        lightness = np.ascontiguousarray(self._at[:, 0])
        best = np.full(_CELLS[1] * _CELLS[2], -np.inf, dtype=lightness.dtype)
        np.maximum.at(best, self._cells % len(best), lightness)
        return best.reshape(_CELLS[1:]).astype(np.float64)


def _axes(judge: Judge, lab: Array | Single, *, quickly: bool = False) -> Array:
    """Return L*, warmth and cast (n, 3) in units of L*a*b*; within 0.1 where `quickly`."""
    across = np.array([[judge.axis[0], -judge.axis[1]], [judge.axis[1], judge.axis[0]]])
    if quickly:
        table = judge.natural_ab(np.arange(0.0, 101.0, 0.125)) @ across
        place = np.clip(lab[:, 0] * 8.0 + 0.5, 0, len(table) - 1).astype(np.int64)
        natural = table.astype(np.float32)[place]
        excess = lab[:, 1:] @ across.astype(np.float32) - natural
    else:
        excess = (lab[:, 1:] - judge.natural_ab(lab[:, 0])) @ across
    return np.column_stack([lab[:, 0], excess])


def _cell(axes: Array) -> Rows:
    cell = np.floor(axes - np.array(_FIRST_CELL, dtype=axes.dtype)).astype(np.int64)
    return np.clip(cell, 0, np.array(_CELLS) - 1)


@dataclass(frozen=True, eq=False)
class CommonSearch:
    """Finds the common colour at each coolness.

    Attributes
    ----------
    judge : Judge
        Of the head.
    members : sequence of Member
        Best begun with the one that keeps the head from being light.
    wanted_level : float or None
        As dark as a natural of this level. [level]
    """

    judge: Judge
    members: Sequence[Member]
    wanted_level: float | None = None

    def at(self, warmths: Sequence[float]) -> list[Common]:
        """Return the common colour at each warmth left. [%]"""
        found: dict[int, Common] = {}
        # (warmths, lightnesses, casts, 3), the lightness that is wanted most first.
        grid = np.stack([self._colours(warmth) for warmth in warmths])
        is_left = self._below_ceilings(grid)
        rank = np.cumsum(is_left.any(axis=2), axis=1) - 1
        for first, last in pairwise(_STAGES):
            is_open = np.array([n not in found for n in range(len(warmths))])
            now = (rank >= first) & (rank < last) & is_open[:, None]
            self._take_even(grid, is_left & now[:, :, None], warmths, found)
        left = [n for n in range(len(warmths)) if n not in found]
        for reach in _REACHES if left else ():
            clouds = self._within(np.concatenate([grid[n].reshape(-1, 3) for n in left]), reach)
            for n in left:
                nearest = self._least_uneven(grid[n].reshape(-1, 3), clouds, reach)
                if nearest is not None:
                    found[n] = Common(float(warmths[n]), *nearest)
            left = [n for n in left if n not in found]
            if not left:
                break
        return [found[n] for n in range(len(warmths))]

    def _colours(self, warmth: float) -> Array:
        """Return the common colours of a warmth, (lightnesses, casts, 3)."""
        lab = self.judge.lab_at(
            lightness=LIGHTNESSES[:, None], warmth_percent=warmth, cast=CASTS[None]
        )
        if self.wanted_level is None:
            return lab
        looks = self.judge.looks_level(lab[:, len(CASTS) // 2])
        return lab[np.argsort(np.abs(looks - self.wanted_level), kind="stable")]

    def _below_ceilings(self, grid: Array) -> Flags:
        lab = grid.reshape(-1, 3)
        keep = np.ones(len(lab), dtype=bool)
        for member in self.members:
            keep &= lab[:, 0] <= member.ceiling(lab)
        return keep.reshape(grid.shape[:3])

    def _take_even(
        self, grid: Array, tried: Flags, warmths: Sequence[float], found: dict[int, Common]
    ) -> None:
        """Add to `found` the first even colour of each warmth, by its place in the grid."""
        at = np.argwhere(tried)
        lab = grid[tried]
        worst = np.zeros(len(lab))
        for member in self.members:
            here = np.flatnonzero(worst <= EVEN)
            if not len(here):
                return
            cloud = member.near(lab[here])
            differs = cloud.differences(member.targets(lab[here]), most=EVEN)
            worst[here] = np.maximum(worst[here], differs)
        even = np.flatnonzero(worst <= EVEN)
        # By warmth, then the lightness that is wanted most, then the least difference.
        for n in even[np.lexsort([worst[even], at[even, 1], at[even, 0]])]:
            place = int(at[n, 0])
            found.setdefault(place, Common(float(warmths[place]), lab[n], float(worst[n])))

    def _within(self, lab: Array, reach: float) -> list[Cloud]:
        """Return each zone's mixes up to `reach` CIEDE2000 from a colour (n, 3), and more."""
        if np.isinf(reach):
            return [member.cloud for member in self.members]
        return [member.near(lab, reach) for member in self.members]

    def _least_uneven(
        self, lab: Array, clouds: Sequence[Cloud], reach: float
    ) -> tuple[Array, float] | None:
        """Return the colour (of n, 3) whose worst zone is nearest, the first of equals.

        And how near that is; None where mixes further away than `reach` could be nearer.
        """
        worst = self._worst(lab, clouds, reach)
        known = np.flatnonzero(np.isfinite(worst))
        if not len(known):
            return None
        best = min(known, key=lambda n: (_steps(float(worst[n])), n // len(CASTS), worst[n]))
        # All that is as near lies within reach: nothing that was left out can be better.
        if _steps(float(worst[best])) * _UNEVEN_STEP > reach:
            return None
        return np.asarray(lab[best]), float(worst[best])

    def _worst(self, lab: Array, clouds: Sequence[Cloud], reach: float) -> Array:
        """Return how far the worst zone is from colours (n, 3); infinity if not of the best."""
        worst = np.full(len(lab), np.inf)
        if not all(len(cloud.rows) for cloud in clouds):
            return worst
        targets = [member.targets(lab) for member in self.members]
        each = [
            cloud.distance(even_coordinates(target))
            for cloud, target in zip(clouds, targets, strict=True)
        ]
        least = LEAST_SHARE * np.max(each, axis=0)
        order = np.argsort(least, kind="stable")
        for start in range(0, len(order), _BATCH):
            here = order[start : start + _BATCH]
            most = min(_steps(float(worst.min())) * _UNEVEN_STEP, reach)
            if least[here[0]] > most:
                break
            worst[here] = 0.0
            for cloud, target in zip(clouds, targets, strict=True):
                still = here[np.isfinite(worst[here])]
                differs = cloud.differences(target[still], most=most)
                worst[still] = np.maximum(worst[still], differs)
        return worst


def _steps(differs: float) -> float:
    return float(np.ceil(differs / _UNEVEN_STEP - 1e-9))


def _at_level(level: Array, natural: Array) -> Array:
    """Return the L* (n,) of natural hair of a level, straight on past the chart."""
    top = (natural[-1] - natural[-2]) / 0.5
    bottom = (natural[1] - natural[0]) / 0.5
    inside = np.interp(level, LEVELS, natural)
    above = natural[-1] + (level - LEVELS[-1]) * top
    below = natural[0] - (LEVELS[0] - level) * bottom
    return np.where(level > LEVELS[-1], above, np.where(level < LEVELS[0], below, inside))
