"""The mixes of a zone as a cloud of colours, and which of them is nearest to a colour.

A tree over coordinates in which straight distances are nearly CIEDE2000 finds the mixes that
may be nearest; CIEDE2000 in double precision decides among them.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from formulas.engine.hair.reading import FastReader
from formulas.engine.light.colorimetry import delta_e_2000
from formulas.engine.light.grid import Array, Flags, Rows, Single
from formulas.engine.prediction.candidates import read_rows
from formulas.engine.search.search import SearchResult
from formulas.engine.search.sweep import most_rows, sweep

if TYPE_CHECKING:
    from scipy.spatial import KDTree

# CIEDE2000 is never less than this share of the distance in even coordinates: 0.93 was the
# least of 2.7 million pairs of hair colours up to 25 units apart.
LEAST_SHARE = 0.9
# More than what single precision can be off by. [CIEDE2000]
_ROUNDING = 0.003
_NEAREST = 8
_CHUNK = 20000
_GRID: Array = np.linspace(0.0, 100.0, 1001)


def even_coordinates(lab: ArrayLike) -> Array:
    """Return coordinates (..., 3) in which straight distances are nearly CIEDE2000.

    Its lightness and chroma weights are integrated, its hue weight is left to chroma.

    References
    ----------
    .. [1] Sharma, Wu & Dalal 2005, Color Res. Appl. 30(1):21-30, equations 4 to 22.
    """
    values = np.asarray(lab)
    a, b = values[..., 1], values[..., 2]
    to_7 = (a * a + b * b) ** 3.5
    a = a * (1.5 - 0.5 * np.sqrt(to_7 / (to_7 + 25.0**7)))  # equations (4), (5)
    chroma = np.sqrt(a * a + b * b) + 1e-9
    shrunk = np.log1p(0.045 * chroma) / (0.045 * chroma)  # equation (16), integrated
    lightness = np.interp(values[..., 0], _GRID, _integrated_lightness())
    return np.stack([lightness, a * shrunk, b * shrunk], axis=-1)


def _integrated_lightness() -> Array:
    from_middle = (_GRID - 50.0) ** 2
    weight = 1.0 / (1.0 + 0.015 * from_middle / np.sqrt(20.0 + from_middle))  # equation (15)
    steps = 0.05 * (weight[1:] + weight[:-1])
    return np.concatenate([[0.0], np.cumsum(steps)])


@dataclass(frozen=True, eq=False)
class Cloud:
    """Mixes of one search with their colours; all arrays run over the same rows.

    Attributes
    ----------
    result : SearchResult
    rows : (n,) int array
    lab : (3, n) float32 array
        Good to about 0.001; what is decided is read again in double precision.
    """

    result: SearchResult
    rows: Rows
    lab: Single

    @classmethod
    def of(cls, result: SearchResult) -> "Cloud":
        """Return all mixes of a search that the stock can fill."""
        pool, space = result.pool, result.space
        usable = pool.lightness > -np.inf
        if space.most > 3 or len(pool.rows) < space.size:
            rows = pool.rows[usable]
            return cls(result, rows, _colours(result, rows).T.astype(np.float32))
        lab = pool.lab
        if lab is None:
            lab = np.empty((3, space.size), np.float32)
            sweep(result.bed, space, FastReader(result.judge, most_rows(space.count), lab))
        if usable.all():
            return cls(result, pool.rows, lab)
        return cls(result, pool.rows[usable], lab[:, usable])

    def only(self, keep: Flags) -> "Cloud":
        """Return the mixes for which `keep` (n,) is true."""
        kept = np.flatnonzero(keep)
        return Cloud(self.result, self.rows[kept], self.lab[:, kept])

    @cached_property
    def _tree(self) -> "KDTree":
        from scipy.spatial import KDTree

        points = even_coordinates(self.lab.T)
        return KDTree(points, leafsize=32, balanced_tree=False, compact_nodes=False)

    def differences(self, lab: Array, *, most: float = np.inf) -> Array:
        """Return CIEDE2000 from each colour (n, 3) to the nearest mix, (n,); exact.

        Colours without a mix up to `most` away get infinity.
        """
        found = np.full(len(lab), np.inf)
        if not len(self.rows) or not len(lab):
            return found
        points = even_coordinates(lab)
        count = min(_NEAREST, len(self.rows))
        reach = most / LEAST_SHARE + _ROUNDING
        away, at = self._tree.query(points, count, distance_upper_bound=reach)
        away, at = away.reshape(len(lab), count), at.reshape(len(lab), count)
        is_mix = at < len(self.rows)
        colour, place = np.nonzero(is_mix)
        np.minimum.at(found, colour, self._differ(lab[colour], at[colour, place], most))
        # A mix that was not looked at is at least as far as the last one that was.
        seen_to = np.where(is_mix[:, -1], away[:, -1], reach) * LEAST_SHARE
        unsure = np.flatnonzero(seen_to < np.minimum(found, most) - _ROUNDING)
        colour, place, differs = self.within(lab[unsure], np.minimum(found, most)[unsure])
        np.minimum.at(found, unsure[colour], differs)
        found[found > most] = np.inf
        return found

    def distance(self, points: Array, most: float) -> Array:
        """Return how far each point (n, 3) is from the nearest mix in even coordinates.

        Points without a mix that may be up to `most` CIEDE2000 away get infinity.
        """
        if not len(self.rows):
            return np.full(len(points), np.inf)
        reach = most / LEAST_SHARE + _ROUNDING
        return np.asarray(self._tree.query(points, distance_upper_bound=reach)[0])

    def within(self, lab: Array, most: Array) -> tuple[Rows, Rows, Array]:
        """Return every pair of a colour (n, 3) and a mix up to `most` (n,) CIEDE2000 from it.

        Which colour, which mix by its place here, and how far; colour by colour.
        """
        if not len(lab):
            return np.array([], dtype=np.int64), np.array([], dtype=np.int64), np.array([])
        reach = most / LEAST_SHARE + _ROUNDING
        lists = self._tree.query_ball_point(even_coordinates(lab), reach, return_sorted=True)
        colour = np.repeat(np.arange(len(lab)), [len(near) for near in lists])
        place = np.concatenate([np.asarray(near, dtype=np.int64) for near in lists])
        differs = self._differ(lab[colour], place, most[colour])
        keep = differs <= most[colour]
        return colour[keep], place[keep], differs[keep]

    def _differ(self, lab: Array, places: Rows, most: float | Array) -> Array:
        """Return CIEDE2000 of pairs (n,); in double precision where `most` is near."""
        if not len(places):
            return np.array([])
        differs = delta_e_2000(lab, self.lab[:, places].T)
        close = np.flatnonzero(np.abs(differs - most) < _ROUNDING)
        if len(close):
            unique, back = np.unique(places[close], return_inverse=True)
            exact = _colours(self.result, self.rows[unique])[back]
            differs[close] = delta_e_2000(lab[close], exact)
        return differs


def _colours(result: SearchResult, rows: Rows) -> Array:
    """Return the L*a*b* (n, 3) of row numbers, a part at a time."""
    parts = [
        read_rows(result.bed, result.judge, result.space, rows[at : at + _CHUNK]).lab
        for at in range(0, len(rows), _CHUNK)
    ]
    return np.concatenate(parts) if parts else np.empty((0, 3))
