"""The line that no mix can cross: for each warmth, the lightest colour any deposit can leave.

A deposit only absorbs, so after it 0 <= R <= R_base in every band. The colours that such R
can show form a zonoid: with 31 bands a polytope whose facets are spanned by pairs of bands.
At a fixed chromaticity the largest luminance is a linear programme (Schroedinger 1920 and
MacAdam 1935, with the hair itself as the ceiling in place of the perfect white); in the
polytope it is one ratio per facet, so that thousands of chromaticities are solved exactly
by one matrix product. The tests compare it with the linear programme solved by HiGHS, and,
with a ceiling of 1, with colour-science's optimal colours.

Colours off the warm direction count too: a mix may lean a little towards green or red. The
line therefore is the best over every cast up to `CAST_TOLERANCE`; a mix that leans further
does not pass as a result on this line (the search leaves it out).
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from formulas.engine import checks
from formulas.engine.appearance import Judge
from formulas.engine.chart import Chart
from formulas.engine.colorimetry import lab_to_xyz, reflectance_to_lab
from formulas.engine.deposit import residual_ks
from formulas.engine.grid import BANDS, Array, Flags, checked_reflectance, weights
from formulas.engine.hair import Zone
from formulas.engine.kubelka_munk import to_reflectance

# Off-direction tint that a careful eye would name, in units of a*b* (model assumption).
CAST_TOLERANCE = 4.5
# The line starts at all of the warmth and ends in ash.
COOLEST_PERCENT = -20.0

_LIGHTNESS_STEPS = 28
_CAST_STEPS = 7
_BISECTIONS = 12


@dataclass(frozen=True, eq=False)
class LimitCurve:
    """The uncrossable line of one zone, from all of its warmth down to ash.

    Attributes
    ----------
    warmth_left_percent : (n,) float array, falling
    levels_deeper_measured, levels_deeper_looks : (n,) float arrays
        The least depth that any deposit costs at that warmth, by L* and as it looks.
    lab : (n, 3) float array
        The colour of that least depth as it looks.
    """

    warmth_left_percent: Array
    levels_deeper_measured: Array
    levels_deeper_looks: Array
    lab: Array

    def at(self, warmth_left_percent: ArrayLike) -> Array:
        """Return the least depth as it looks at any warmth (...), between the points."""
        return np.interp(
            np.asarray(warmth_left_percent, dtype=float),
            self.warmth_left_percent[::-1],
            self.levels_deeper_looks[::-1],
        )


@lru_cache(maxsize=4)
def _facets() -> tuple[Array, Array]:
    """Return facet normals (m, 3), and where each band pushes outwards (m, 31) as 0 or 1."""
    bands = weights()
    first, second = np.triu_indices(BANDS, k=1)
    normals = np.cross(bands[first], bands[second])
    length = np.linalg.norm(normals, axis=1, keepdims=True)
    normals = (normals / np.where(length > 1e-12, length, 1.0))[length[:, 0] > 1e-12]
    normals = np.concatenate([normals, -normals])
    return normals, np.maximum(normals @ bands.T, 0.0)


def luminance_share(xyz: ArrayLike, ceiling: ArrayLike) -> Array:
    """Return the factor by which `xyz` can be scaled within a ceiling; 1 lies on its surface.

    Parameters
    ----------
    xyz : (..., 3) float array
        Directions, Y > 0.
    ceiling : (31,) float array
        Largest reflectance in each band, 0 to 1. [unitless]

    Returns
    -------
    share : (...) float array
        Largest luminance at this chromaticity over the given one. [unitless]

    Raises
    ------
    ValueError
        If the ceiling is not a reflectance on the grid.

    References
    ----------
    .. [1] Schroedinger 1920, Ann. Phys. 62:603; MacAdam 1935, J. Opt. Soc. Am. 25:361
       (from memory).
    """
    top = checked_reflectance(ceiling, name="ceiling")
    if top.shape != (BANDS,):
        raise ValueError(f"ceiling needs {BANDS} values, given {top.shape}")
    normals, outward = _facets()
    support = outward @ top  # h(n) = sum of max(0, n.w_i) ceiling_i
    reach = np.asarray(xyz, dtype=float) @ normals.T
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(reach > 1e-12, support / reach, np.inf)
    return np.asarray(ratio.min(axis=-1))


def limit(zone: Zone, *, chart: Chart | None = None, points: int = 25) -> LimitCurve:
    """Return the uncrossable line of a zone.

    Parameters
    ----------
    zone : Zone
    chart : Chart, optional
    points : int
        2 to 200. [count]

    Returns
    -------
    LimitCurve

    Raises
    ------
    ValueError
        If `points` is out of range.
    """
    count = checks.whole(points, name="points", low=2, high=200)
    chart = chart or Chart.default()
    warm_ks = chart.warmth_ks(zone.lifted_level, zone.undertone)
    base = zone.hair_ks(chart) + residual_ks(zone.residual, porosity=zone.porosity, chart=chart)
    start, warm = reflectance_to_lab(to_reflectance(np.stack([base, warm_ks])))
    return limit_of(Judge(start, warm, chart), to_reflectance(base), points=count)


def limit_of(judge: Judge, ceiling: Array, *, points: int = 25) -> LimitCurve:
    """Return the line for a judge and a ceiling (31,); see `limit`."""
    start_warmth = float(judge.warmth_left_percent(judge.start_lab))
    warmth = np.linspace(start_warmth, min(COOLEST_PERCENT, start_warmth - 20.0), points)
    casts = np.linspace(-CAST_TOLERANCE, CAST_TOLERANCE, _CAST_STEPS)
    own_cast = float(judge.cast(judge.start_lab))
    casts = np.unique(np.append(casts, np.clip(own_cast, -CAST_TOLERANCE, CAST_TOLERANCE)))
    w, c = np.meshgrid(warmth, casts, indexing="ij")
    lightest = _lightest(judge, ceiling, w, c)
    colours = judge.lab_at(lightness=lightest, warmth_percent=w, cast=c)
    measured = np.maximum(judge.levels_deeper_measured(colours).min(axis=1), 0.0)
    looks = judge.levels_deeper_looks(colours)
    best = looks.argmin(axis=1)
    rows = np.arange(points)
    # The start itself is on the line; what lies beyond it can only be rounding.
    depth = np.maximum.accumulate(np.maximum(looks[rows, best], 0.0))
    return LimitCurve(warmth, np.maximum.accumulate(measured), depth, colours[rows, best])


def _lightest(judge: Judge, ceiling: Array, warmth: Array, cast: Array) -> Array:
    """Return the largest L* within the ceiling at each warmth and cast: scan, then bisection."""
    top = float(judge.start_lab[0])
    scan = np.linspace(top, 4.0, _LIGHTNESS_STEPS)

    def fits(lightness: Array, w: Array, c: Array) -> Flags:
        lab = judge.lab_at(lightness=lightness, warmth_percent=w, cast=c)
        return luminance_share(lab_to_xyz(lab), ceiling) >= 1.0 - 1e-9

    inside = fits(scan[:, None, None], warmth[None], cast[None])
    first = np.where(inside.any(axis=0), inside.argmax(axis=0), len(scan) - 1)
    low = scan[first]
    high = np.where(first > 0, scan[np.maximum(first - 1, 0)], top)
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2.0
        ok = fits(middle, warmth, cast)
        low, high = np.where(ok, middle, low), np.where(ok, high, middle)
    # The upper end of the bracket: the line errs on the light side, never on the dark one.
    return np.asarray(high)


def lies_beyond(curve: LimitCurve, *, warmth: float, levels_deeper_looks: float) -> bool:
    """Return whether a wish ("this cool, this light") lies on the far side of the line."""
    return bool(levels_deeper_looks < float(curve.at(warmth)))
