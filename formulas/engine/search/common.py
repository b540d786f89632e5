"""The colours that a whole head could have, and which of them its zones reach together.

At each coolness the common colours differ in lightness and in cast, in steps that an eye
cannot tell apart. A colour is *even* where each zone has a mix that an eye cannot tell from
it. Taken is the lightest even one (or the one nearest to a wanted depth); where there is none,
the one whose worst zone is nearest, in quarter steps, and of those the lightest.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from formulas.engine.hair.appearance import Judge
from formulas.engine.light.grid import Array, Flags
from formulas.engine.search.clouds import LEAST_SHARE, Cloud, even_coordinates
from formulas.engine.search.members import EVEN, Member

_UNEVEN_STEP = 0.25
# The nearest mixes are looked for so far away, then everywhere. [CIEDE2000, whole steps]
_REACHES = (2.0, 8.0)
LIGHTNESS_STEP, CAST_STEP, MOST_CAST = 0.5, 1.5, 4.5
CASTS: Array = np.arange(-MOST_CAST, MOST_CAST + 0.01, CAST_STEP)
LIGHTNESSES: Array = np.arange(95.5, 5.9, -LIGHTNESS_STEP)
# So many of the lightnesses that are left are tried at first, then up to so many.
_STAGES = (0, 8, 24, len(LIGHTNESSES))
_BATCH = 18


# A colour, and how far the zone that misses it most is from it.
_Found = tuple[Array, float]


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
        found: dict[int, _Found] = {}
        # (warmths, lightnesses, casts, 3), the lightness that is wanted most first.
        grid = np.stack([self._colours(warmth) for warmth in warmths])
        is_left = self._below_ceilings(grid)
        rank = np.cumsum(is_left.any(axis=2), axis=1) - 1
        for first, last in pairwise(_STAGES):
            is_open = np.array([n not in found for n in range(len(warmths))])
            now = (rank >= first) & (rank < last) & is_open[:, None]
            self._take_even(grid, is_left & now[:, :, None], found)
        self._take_least_uneven(grid, found)
        return [Common(float(w), *found[n]) for n, w in enumerate(warmths)]

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

    def _take_even(self, grid: Array, tried: Flags, found: dict[int, _Found]) -> None:
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
            found.setdefault(int(at[n, 0]), (lab[n], float(worst[n])))

    def _take_least_uneven(self, grid: Array, found: dict[int, _Found]) -> None:
        """Add to `found` the colour whose worst zone is nearest, the first of equals."""
        for most in (*_REACHES, np.inf):
            left = [n for n in range(len(grid)) if n not in found]
            if not left:
                return
            lab = grid[left].reshape(-1, 3)
            least, clouds = self._at_least(lab, most)
            for n, some in zip(left, np.split(np.arange(len(lab)), len(left)), strict=True):
                nearest = self._nearest(lab[some], least[some], clouds, most)
                if nearest is not None:
                    found[n] = nearest

    def _at_least(self, lab: Array, most: float) -> tuple[Array, list[Cloud]]:
        """Return how far the worst zone is from colours (n, 3) at least, infinite past `most`.

        With the mixes of each zone that are up to `most` from those not ruled out before it.
        """
        least, clouds = np.zeros(len(lab)), []
        for member in self.members:
            here = np.flatnonzero(np.isfinite(least))
            cloud = member.near(lab[here], most) if np.isfinite(most) else member.cloud
            away = cloud.distance(even_coordinates(member.targets(lab[here])), most)
            least[here] = np.maximum(least[here], LEAST_SHARE * away)
            clouds.append(cloud)
        return least, clouds

    def _nearest(
        self, lab: Array, least: Array, clouds: Sequence[Cloud], most: float
    ) -> _Found | None:
        """Return the colour of one warmth whose worst zone is nearest and up to `most` away."""
        order = np.argsort(least, kind="stable")
        worst = np.full(len(lab), np.inf)
        # Some colours always lie further than the best one is missed by.
        for start in range(0, len(order), _BATCH):  # pragma: no branch
            here = order[start : start + _BATCH]
            limit = min(_steps(float(worst.min())) * _UNEVEN_STEP, most)
            if least[here[0]] > limit or not np.isfinite(least[here[0]]):
                break
            worst[here] = 0.0
            for member, cloud in zip(self.members, clouds, strict=True):
                still = here[np.isfinite(worst[here])]
                differs = cloud.differences(member.targets(lab[still]), most=limit)
                worst[still] = np.maximum(worst[still], differs)
        known = np.flatnonzero(np.isfinite(worst))
        if not len(known):
            return None
        best = min(known, key=lambda n: (_steps(float(worst[n])), n // len(CASTS), worst[n]))
        return np.asarray(lab[best]), float(worst[best])


def _steps(differs: float) -> float:
    return float(np.ceil(differs / _UNEVEN_STEP - 1e-9))
