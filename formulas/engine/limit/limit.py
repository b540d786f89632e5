"""The line that no mix can cross: for each warmth, the lightest colour any deposit can leave.

A deposit only absorbs, so after it 0 <= R <= R_base in every band. At a fixed chromaticity
the largest luminance under that ceiling is a linear programme (Schroedinger 1920 and MacAdam
1935, with the hair itself as the ceiling in place of the perfect white): `object_colours`.

Why the line is a true bound. A warmth does not fix a chromaticity: at every lightness and
every cast there is a colour that has it. So for each warmth the line takes the best over all
of them (`least_depth`), then over all cooler ones too, so that a mix which is both cooler
and lighter than the line cannot exist. Between two points it stays below the curve
(`_chords_below`), so that reading the line there claims no more than the points do.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from formulas.engine import checks
from formulas.engine.hair.appearance import Judge
from formulas.engine.hair.chart import Chart
from formulas.engine.light.colorimetry import reflectance_to_lab
from formulas.engine.light.grid import Array
from formulas.engine.light.kubelka_munk import to_reflectance
from formulas.engine.limit.least_depth import least_depths
from formulas.engine.toner.deposit import residual_ks
from formulas.engine.toner.zone import Zone

# The line starts at all of the warmth and ends in ash.
COOLEST_PERCENT = -20.0
# Samples per step of the line that keep its chords below it.
GUARDS = 4
# What the finite search may miss (the tests compare it with a fine grid of casts): the line
# is lowered by that much everywhere, at its start, too: just past it a colour may look a
# little lighter than the hair that it began with. [levels]
_RESERVE = 0.015


@dataclass(frozen=True, eq=False)
class LimitCurve:
    """The uncrossable line of one zone, from all of its warmth down to ash.

    Attributes
    ----------
    warmth_left_percent : (n,) float array, falling
    levels_deeper_measured, levels_deeper_looks : (n,) float arrays, rising
        The least depth that any deposit costs at that warmth or cooler, by L* and as it
        looks; each on its own.
    lab : (n, 3) float array
        The colour of that least depth as it looks.
    """

    warmth_left_percent: Array
    levels_deeper_measured: Array
    levels_deeper_looks: Array
    lab: Array

    def at(self, warmth_left_percent: ArrayLike) -> Array:
        """Return the least depth as it looks at any warmth (...), between the points.

        Cooler than the last point its value still holds as a bound; warmer than the first
        one the start itself is the lightest that is known.
        """
        at = np.asarray(warmth_left_percent, dtype=float)
        points = self.warmth_left_percent[::-1], self.levels_deeper_looks[::-1]
        return np.asarray(np.interp(at, *points))


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

    References
    ----------
    .. [1] Schroedinger 1920, Ann. Phys. 62:603; MacAdam 1935, J. Opt. Soc. Am. 25:361
       (from memory).
    """
    count = checks.whole(points, name="points", low=2, high=200)
    chart = chart or Chart.default()
    warm_ks = chart.warmth_ks(zone.lifted_level, zone.undertone)
    shares, hair = zone.fibres(chart)
    base = shares @ to_reflectance(hair + residual_ks(zone, chart))
    seen = [base, to_reflectance(warm_ks), zone.reflectance(chart)]
    start, warm, bare = reflectance_to_lab(np.stack(seen))
    return limit_of(Judge(start, warm, chart, bare), base, points=count)


def limit_of(judge: Judge, ceiling: Array, *, points: int = 25) -> LimitCurve:
    """Return the line for a judge and a ceiling (31,); see `limit`."""
    start = float(judge.warmth_left_percent(judge.start_lab))
    coolest = min(COOLEST_PERCENT, start - 20.0)
    warmth = np.linspace(start, coolest, GUARDS * (points - 1) + 1)
    looks, measured, lab = least_depths(judge, ceiling, warmth)
    looks, measured = looks - _RESERVE, measured - _RESERVE
    return LimitCurve(
        warmth[::GUARDS], _chords_below(measured), _chords_below(looks), lab[::GUARDS].copy()
    )


def _chords_below(depth: Array) -> Array:
    """Return the depths at the points, lowered until no chord lies above the guards."""
    points = depth[::GUARDS].copy()
    for n in range(len(points) - 1):
        for share in range(1, GUARDS):
            guard = depth[n * GUARDS + share]
            highest = points[n] + (guard - points[n]) * GUARDS / share
            points[n + 1] = min(points[n + 1], highest)
    return np.maximum.accumulate(points)


def is_beyond(curve: LimitCurve, *, warmth: float, levels_deeper_looks: float) -> bool:
    """Return whether a wish ("this cool, this light") lies on the far side of the line."""
    return bool(levels_deeper_looks < float(curve.at(warmth)))
