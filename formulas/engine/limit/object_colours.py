"""Object colours under a ceiling: which colours a reflectance 0 <= R <= ceiling can show.

They form a convex solid: the sum of one segment per band, from 0 to ceiling * weights. Its
facets are spanned by pairs of bands, so "largest luminance at this chromaticity", a linear
programme, is one ratio per facet: thousands of chromaticities are solved exactly by one
matrix product. The tests compare it with the programme as HiGHS solves it and, with a
ceiling of 1, with colour-science's optimal colours.

References
----------
.. [1] Schroedinger 1920, Ann. Phys. 62:603; MacAdam 1935, J. Opt. Soc. Am. 25:361 (from
   memory).
"""

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from formulas.engine.light.grid import BANDS, Array, Flags, checked_reflectance, weights

_NO_SUPPORT = 1e-9  # a facet through black: it lets nothing pass on its outer side
_ROUNDING = 1e-9


class Solid:
    """The solid of object colours under one ceiling.

    Parameters
    ----------
    ceiling : (31,) float array
        Largest reflectance in each band, 0 to 1. [unitless]
    bands : (31, 3) float array, optional
        Weights from reflectance to XYZ; the grid's own if left out.

    Raises
    ------
    ValueError
        If the ceiling is not a reflectance on the grid.
    """

    def __init__(self, ceiling: ArrayLike, *, bands: Array | None = None) -> None:
        top = checked_reflectance(ceiling, name="ceiling")
        if top.shape != (BANDS,):
            raise ValueError(f"ceiling needs {BANDS} values, given {top.shape}")
        self._bands = weights() if bands is None else np.asarray(bands, dtype=float)
        normals, outward = _facets(self._bands.tobytes())
        support = outward @ top  # h(n) = sum over bands of max(0, n.w) * ceiling
        self._facets = (normals / np.maximum(support, _NO_SUPPORT)[:, None]).T.copy()

    def nearby(self, xyz: ArrayLike) -> "Solid":
        """Return the solid with only the facets that bound these `xyz` (..., 3) and rays.

        It is never smaller than the whole one, so what it excludes is excluded by both.
        """
        reach = np.asarray(xyz, dtype=float).reshape(-1, 3) @ self._facets
        fewer = object.__new__(Solid)
        fewer._bands = self._bands
        fewer._facets = self._facets[:, np.unique(reach.argmax(axis=1))]
        return fewer

    def holds(self, xyz: ArrayLike) -> Flags:
        """Return whether each `xyz` (..., 3) lies in the solid or on its surface."""
        return np.asarray(self.reach(xyz) <= 1.0 + _ROUNDING)

    def reach(self, xyz: ArrayLike) -> Array:
        """Return how far out each `xyz` (..., 3) lies, (...): 1 on the surface, more outside.

        Divided by it, a colour lies on the surface.
        """
        values = np.asarray(xyz, dtype=float)
        # Facet by facet over all colours: long stretches in place of many short ones.
        by_facet = self._facets.T @ values.reshape(-1, 3).T
        return np.asarray(by_facet.max(axis=0).reshape(values.shape[:-1]))


@lru_cache(maxsize=4)
def _facets(bands: bytes) -> tuple[Array, Array]:
    """Return facet normals (m, 3), and how far each band pushes along them (m, 31), 0 or more.

    Any normal gives a true bound, whatever its rounding, since its support is computed for
    that very normal; so nearly parallel bands do no harm.
    """
    table = np.frombuffer(bands).reshape(-1, 3)
    first, second = np.triu_indices(len(table), k=1)
    normals = np.cross(table[first], table[second])
    length = np.linalg.norm(normals, axis=1, keepdims=True)
    normals = (normals / np.where(length > 1e-12, length, 1.0))[length[:, 0] > 1e-12]
    normals = np.concatenate([normals, -normals])
    return normals, np.maximum(normals @ table.T, 0.0)
