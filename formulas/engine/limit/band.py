"""The limit with its doubt: it rests on the chart and on the reading, so it is a band.

Level and undertone are moved by the doubts of a prediction, one at a time. Beside it: which
entries of the level chart, measured, would make the line surest.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from formulas.engine.hair.chart import ASSUMED, KINDS, LEVELS, Chart
from formulas.engine.light.grid import Array
from formulas.engine.limit.limit import LimitCurve, limit
from formulas.engine.prediction.doubts import moved_reading
from formulas.engine.prediction.ranged import Ranged
from formulas.engine.toner.zone import Zone

_MOVED = ("lifted_level", "undertone")
# Points of a moved line: within 0.03 levels of a fine one, a tenth of what it tells.
_MOVED_POINTS = 9
# How far the chroma of an entry may be off that nobody measured (model assumption).
CHROMA_DOUBT = 0.1
NEUTRAL_PERCENT = 5.0
# Natural hair is asked down to so far below the lifted level: no toned result is deeper.
_DEEPEST_LEVELS = 3.0


@dataclass(frozen=True, eq=False)
class LimitBand:
    """The line of one chart, and the range that it lies in about nineteen times of twenty.

    Attributes
    ----------
    curve : LimitCurve
    low, high : (n,) float arrays
        Least depth as it looks at the curve's own points. [levels]
    """

    curve: LimitCurve
    low: Array
    high: Array


@dataclass(frozen=True)
class TellingEntry:
    """An entry of the chart that was not measured, and how much hangs on it.

    Attributes
    ----------
    level : float
    kind : str
        "natural" or "warmth".
    levels : float
        By how much the line at no warmth moves with that entry's doubt. [levels]
    """

    level: float
    kind: str
    levels: float


def limit_band(
    zone: Zone,
    *,
    chart: Chart | None = None,
    points: int = 25,
    curve: LimitCurve | None = None,
) -> LimitBand:
    """Return the limit of a zone with its range.

    Parameters
    ----------
    zone : Zone
    chart : Chart, optional
    points : int
        2 to 200. [count]
    curve : LimitCurve, optional
        The zone's limit, where it is known already.

    Raises
    ------
    ValueError
        If `points` is out of range.
    """
    own = curve or limit(zone, chart=chart, points=points)
    warmth = own.warmth_left_percent
    pairs = []
    for name in _MOVED:
        moved = [moved_reading(zone, name, sign)[0] for sign in (-1.0, 1.0)]
        lines = [limit(there, chart=chart, points=_MOVED_POINTS) for there in moved]
        pairs.append([_moved(there, own, warmth) for there in lines])
    ranged = Ranged.from_pairs(own.levels_deeper_looks, pairs)
    return LimitBand(own, np.maximum(ranged.low, own.levels_deeper_looks[0]), ranged.high)


def _moved(there: LimitCurve, own: LimitCurve, warmth: Array) -> Array:
    """Return the depth of another line at the same places between its start and neutral."""
    # Both begin at their own start, which may show more or less warmth.
    shift = there.warmth_left_percent[0] - own.warmth_left_percent[0]
    start = own.warmth_left_percent[0]
    share = np.clip(warmth / start, 0.0, 1.0) if start > 0 else np.zeros_like(warmth)
    return there.at(warmth + shift * share)


def telling_entries(
    zone: Zone, *, chart: Chart | None = None, count: int = 2
) -> tuple[TellingEntry, ...]:
    """Return the unmeasured entries of the chart that move the line most, the first ones.

    Each is moved by its doubt alone, and the line read where no warmth is left.

    Parameters
    ----------
    zone : Zone
    chart : Chart, optional
    count : int
        The most to name. [count]
    """
    chart = chart or Chart.default()
    at = float(limit(zone, chart=chart, points=9).at(NEUTRAL_PERCENT))
    found = []
    for level, kind in _assumed_near(zone, chart):
        moves = [
            abs(float(limit(zone, chart=there, points=9).at(NEUTRAL_PERCENT)) - at)
            for factor in (1.0 - CHROMA_DOUBT, 1.0 + CHROMA_DOUBT)
            if (there := _with_chroma(chart, level, kind, factor)) is not None
        ]
        found.append(TellingEntry(level, kind, max(moves, default=0.0)))
    found.sort(key=lambda entry: (-round(entry.levels, 6), entry.level, entry.kind))
    return tuple(found[:count])


def _assumed_near(zone: Zone, chart: Chart) -> Iterator[tuple[float, str]]:
    for n, level in enumerate(LEVELS.tolist()):
        near = {
            "natural": zone.lifted_level - _DEEPEST_LEVELS <= level <= zone.lifted_level + 0.5,
            "warmth": abs(level - zone.lifted_level) < 0.5,
        }
        for kind, standing in zip(KINDS, chart.standing[n], strict=True):
            if near[kind] and standing == ASSUMED:
                yield level, kind


def _with_chroma(chart: Chart, level: float, kind: str, factor: float) -> Chart | None:
    """Return the chart with one entry's chroma moved; None where no such chart exists."""
    table = chart.natural_lab if kind == "natural" else chart.warmth_lab
    lab = table[int(np.flatnonzero(level == LEVELS)[0])] * np.array([1.0, factor, factor])
    standing = dict(zip(LEVELS.tolist(), chart.standing, strict=True))[level]
    try:
        return chart.replaced(
            level=level, kind=kind, lab=lab, standing=standing[KINDS.index(kind)]
        )
    except ValueError:
        return None
