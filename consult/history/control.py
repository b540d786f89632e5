"""Control charts of results: which run of visits is more than chance.

Individuals chart with an exponentially weighted moving average around the prediction (ISO
7870-2 for the scatter from moving ranges, ISO 7870-6 for the average), and a test of the slope
for drifts that cross the prediction half way. Run rules alone (eight on one side, six
rising) mark a clean salon too often: many clients, zones and numbers are watched at once. The
limits below come from simulated salons without a fault (`tests/consult/history/test_control.py`
repeats that); the rate of false marks that they gave is `FALSE_MARKS_PER_20_CLIENT_YEARS`.

Pure functions: no database, no clock, no engine.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

# Share of the newest result in the average.
WEIGHT = 0.3
# Limits in standard deviations of the average and of the slope, from simulation.
AVERAGE_LIMIT, SLOPE_LIMIT = 3.7, 4.2
# A run that is found is called a drift from here on.
SURE_SLOPE = 2.0
# A slope is looked for in the last results, once there are enough.
FEWEST_FOR_SLOPE, MOST_FOR_SLOPE = 6, 12
# What one odd result may count at most, in standard deviations: it is a mark of its own.
MOST_COUNTED = 3.0
# Two odd results are chance; a run is more.
SHORTEST_RUN = 3
# Mean of the range of two normal values over their standard deviation (d2), and the factor
# beyond which such a range is left out (D4): ISO 7870-2, constants for n = 2.
D2, D4 = 1.128, 3.267
# What simulated salons without a fault gave with these limits, per 20 client-years.
FALSE_MARKS_PER_20_CLIENT_YEARS = 0.8


class Kind(StrEnum):
    """What a run does."""

    TREND = "trend"
    ONE_SIDED = "one_sided"


@dataclass(frozen=True)
class Scale:
    """How finely a number is read, how far it usually scatters, and what that is worth.

    `step` is that of the eye (half levels, fives of a percent); `usual` stands in for `worth`
    moving ranges.
    """

    step: float
    usual: float
    least: float
    worth: int = 20


# Of one eye, after the step of the scale is taken out (model assumption, as in the engine's
# `hierarchy.REST`, which holds hair besides).
DEPTH = Scale(step=0.5, usual=0.15, least=0.08)
WARMTH = Scale(step=5.0, usual=5.0, least=2.5)


@dataclass(frozen=True)
class Run:
    """Results in a row that chance does not explain.

    Attributes
    ----------
    first, last : int
        Places in the series.
    kind : Kind
    mean : float
        Mean error over the run, in the number's own unit.
    change : float
        How far the straight line through the run rises from its first to its last result.
    """

    first: int
    last: int
    kind: Kind
    mean: float
    change: float

    @property
    def count(self) -> int:
        """How many results it holds."""
        return self.last - self.first + 1

    @property
    def is_up(self) -> bool:
        """Whether it goes up: the trend's direction, else the side it keeps."""
        return (self.change if self.kind == Kind.TREND else self.mean) > 0


def error(seen: float, predicted: float, step: float) -> float:
    """Return by how much a reading differs from a prediction, at the least.

    A reading stands for half a `step` of the eye either way, so that much cannot be told.
    Without this a client whose prediction lies between two half levels would always seem off
    to the same side.
    """
    return beyond_step(seen - predicted, step)


def beyond_step(difference: float, step: float) -> float:
    """Return what is left of a difference beyond half a step of the eye, with its sign."""
    return math.copysign(max(abs(difference) - step / 2, 0.0), difference)


def scatter(series: Iterable[Sequence[float]], scale: Scale) -> float:
    """Return the standard deviation of one result, from moving ranges within each series.

    Differences of neighbours see no slow drift nor anyone's constant difference. Ranges beyond
    D4 times the mean of those above 0 are left out once. Readings in wide steps differ seldom
    and then by much: the mean range understates that, the mean square (von Neumann's successive
    differences) does not, so the greater counts. Few ranges lean on the usual scatter.
    """
    ranges = [abs(b - a) for values in series for a, b in pairwise(values)]
    known = 0.0
    if above := [width for width in ranges if width]:
        limit = D4 * sum(above) / len(above)
        ranges = [width for width in ranges if width <= limit]
        square = sum(width * width for width in ranges) / len(ranges) / 2.0
        known = max(sum(ranges) / len(ranges) / D2, math.sqrt(square))
    variance = (scale.worth * scale.usual**2 + len(ranges) * known**2) / (
        scale.worth + len(ranges)
    )
    return max(math.sqrt(variance), scale.least)


def averages(
    values: Sequence[float], *, start: float = 0.0, weight: float = WEIGHT
) -> list[float]:
    """Return the exponentially weighted moving average after each value."""
    found, average = [], start
    for value in values:
        average = weight * value + (1.0 - weight) * average
        found.append(average)
    return found


def average_doubt(count: int, *, sigma: float, weight: float = WEIGHT) -> float:
    """Return the standard deviation of the average after `count` values around its start."""
    share = weight / (2.0 - weight) * (1.0 - (1.0 - weight) ** (2 * count))
    return sigma * math.sqrt(share)


def slope(values: Sequence[float]) -> float:
    """Return the slope of the least-squares line, per place."""
    middle = (len(values) - 1) / 2
    spread = _spread(len(values))
    return sum((n - middle) * value for n, value in enumerate(values)) / spread


def slope_doubt(count: int, *, sigma: float) -> float:
    """Return the standard deviation of `slope` over so many values."""
    return sigma / math.sqrt(_spread(count))


def run_at_end(values: Sequence[float], *, sigma: float) -> Run | None:
    """Return the run that the series ends in, or None where chance explains its end."""
    if len(values) < SHORTEST_RUN:
        return None
    most = MOST_COUNTED * sigma
    bounded = [min(max(value, -most), most) for value in values]
    found = _trend(bounded, sigma) or _one_sided(bounded, sigma)
    return found and _run(values, found.first, _kind(values[found.first :], found, sigma))


def all_runs(values: Sequence[float], *, sigma: float) -> list[Run]:
    """Return every run of a series; what was still one at the next result is one run."""
    return _runs_ending(values, 1, sigma)


def current_run(values: Sequence[float], *, sigma: float) -> Run | None:
    """Return the run of `all_runs` that the series ends in, if it does."""
    first = len(values) + 1
    while first > 1 and run_at_end(values[: first - 1], sigma=sigma) is not None:
        first -= 1
    return next(reversed(_runs_ending(values, first, sigma)), None)


def _runs_ending(values: Sequence[float], first: int, sigma: float) -> list[Run]:
    """Return the runs that end from the `first` result on, joined."""
    found: list[Run] = []
    for end in range(first, len(values) + 1):
        run = run_at_end(values[:end], sigma=sigma)
        if run is None:
            continue
        if found and found[-1].last == run.last - 1 and found[-1].is_up == run.is_up:
            found[-1] = _joined(found[-1], run, values[:end])
        else:
            found.append(run)
    return found


def run_below(values: Sequence[float]) -> float:
    """Return the greatest standard deviation at which the series ends in a run; 0 for none.

    For every one beyond it `run_at_end` finds nothing, so a series need not be looked at again
    where results scatter more. (Below it there may be gaps: what one result may count at most
    shrinks with it.)
    """
    count = min(len(values), MOST_FOR_SLOPE)
    found = 0.0
    if count >= FEWEST_FOR_SLOPE:
        middle, spread = (count - 1) / 2, _spread(count)
        weights = [(n - middle) / spread for n in range(count)]
        limit = SLOPE_LIMIT * slope_doubt(count, sigma=1.0)
        last = values[-count:]
        found = max(_below(last, weights, limit), _below([-v for v in last], weights, limit))
    side = _side(values[-SHORTEST_RUN:-1]) if len(values) >= SHORTEST_RUN else 0.0
    if side:
        weights = [WEIGHT * (1.0 - WEIGHT) ** n for n in range(len(values))][::-1]
        limit = AVERAGE_LIMIT * average_doubt(len(values), sigma=1.0)
        found = max(found, _below([side * value for value in values], weights, limit))
    return found


def _side(values: Sequence[float]) -> float:
    """Return the side of zero on which all values lie; 0 for none. The newest one is free."""
    if all(value > 0 for value in values):
        return 1.0
    return -1.0 if all(value < 0 for value in values) else 0.0


def _below(values: Sequence[float], weights: Sequence[float], limit: float) -> float:
    """Return the greatest sigma at which the weighted sum of bounded values exceeds its limit.

    The sum less its limit is linear in sigma between the points at which a value is bounded,
    and below 0 for a great sigma: walked down to where it crosses 0.
    """

    def excess(sigma: float) -> float:
        most = MOST_COUNTED * sigma
        bounded = (min(max(value, -most), most) for value in values)
        return sum(w * v for w, v in zip(weights, bounded, strict=True)) - limit * sigma

    bends = sorted({abs(value) / MOST_COUNTED for value in values}, reverse=True)
    above = (sum(w * v for w, v in zip(weights, values, strict=True))) / limit
    if above > bends[0]:
        return above
    for upper, lower in pairwise([*bends, 0.0]):
        high, low = excess(upper), excess(lower)
        if high > 0:  # by rounding
            return upper
        if low > 0:
            return lower + (upper - lower) * low / (low - high)
    return 0.0


def _trend(values: Sequence[float], sigma: float) -> Run | None:
    count = min(len(values), MOST_FOR_SLOPE)
    if count < FEWEST_FOR_SLOPE:
        return None
    last = values[-count:]
    rise = slope(last)
    if abs(rise) <= SLOPE_LIMIT * slope_doubt(count, sigma=sigma):
        return None
    return _run(values, len(values) - count, Kind.TREND)


def _one_sided(values: Sequence[float], sigma: float) -> Run | None:
    average = averages(values)[-1]
    if abs(average) <= AVERAGE_LIMIT * average_doubt(len(values), sigma=sigma):
        return None
    first = len(values) - 1
    while first and values[first - 1] * average > 0:
        first -= 1
    if len(values) - first < SHORTEST_RUN:
        return None
    return _run(values, first, Kind.ONE_SIDED)


def _kind(part: Sequence[float], found: Run, sigma: float) -> Kind:
    """Return what a run is called: one side that goes further off each time is a trend."""
    if found.kind == Kind.TREND:
        return Kind.TREND
    rise = slope(part)
    is_sure = abs(rise) > SURE_SLOPE * slope_doubt(len(part), sigma=sigma)
    return Kind.TREND if is_sure and rise * found.mean > 0 else Kind.ONE_SIDED


def _run(values: Sequence[float], first: int, kind: Kind) -> Run:
    part = values[first:]
    change = slope(part) * (len(part) - 1)
    return Run(first, len(values) - 1, kind, sum(part) / len(part), change)


def _joined(earlier: Run, later: Run, values: Sequence[float]) -> Run:
    """Return two runs as one: a drift stays a drift while it stays away."""
    kind = Kind.TREND if Kind.TREND in (earlier.kind, later.kind) else Kind.ONE_SIDED
    return _run(values, min(earlier.first, later.first), kind)


def _spread(count: int) -> float:
    """Return the sum of squares of 0, 1, ... around their middle."""
    return count * (count * count - 1) / 12
