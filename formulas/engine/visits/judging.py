"""How well ranges and learning do in invented salons whose truth is known."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from formulas.engine.light.grid import Array
from formulas.engine.prediction.doubts import Doubts
from formulas.engine.prediction.ranged import COVERAGE
from formulas.engine.visits.calibration import standard_doubts
from formulas.engine.visits.learning import learn
from formulas.engine.visits.observing import Beds, Observed
from formulas.engine.visits.simulation import Case, Salon
from formulas.engine.visits.table import tabulated


@dataclass(frozen=True)
class Held:
    """How ranges held, depth first, warmth second.

    Attributes
    ----------
    coverage : (float, float)
        Share of true results within their range. [unitless]
    too_wide : (float, float)
        How many times as wide as needed for 19 in 20 the ranges are. [unitless]
    """

    coverage: tuple[float, float]
    too_wide: tuple[float, float]


def coverage(
    make: Callable[[int], Salon], *, salons: int, results: int, cases: int, measured: bool
) -> tuple[Held, Held]:
    """Return how ranges hold on new clients before any result, and after so many.

    Parameters
    ----------
    make : callable
        Returns the salon of a number.
    salons, results, cases : int
        How many salons, results of each to learn from, and new clients of each.
    measured : bool
        Whether results are measured, or read by eye.
    """
    before, after = [], []
    for number in range(salons):
        salon = make(number)
        new = [salon.case() for _ in range(cases)]
        before.append(_missed(salon, new, {}, Doubts()))
        learned = learn(salon.line, salon.results(results, measured=measured))
        # As in a salon: strengths are used where they are offered, ranges in either case.
        strengths = learned.factors() if learned.improves else {}
        doubts = learned.doubts if learned.improves else learned.doubts_in_use
        after.append(_missed(salon, new, strengths, doubts))
    return _held(before), _held(after)


def _held(missed: Sequence[Array]) -> Held:
    every = np.concatenate(missed)
    inside, needed = (every <= 1.0).mean(axis=0), np.quantile(every, 0.95, axis=0)
    return Held(
        (float(inside[0]), float(inside[1])), (float(1.0 / needed[0]), float(1.0 / needed[1]))
    )


def _missed(
    salon: Salon, cases: Sequence[Case], strengths: Mapping[str, float], doubts: Doubts
) -> Array:
    """Return misses in half widths of the range, (n, 2)."""
    # The key of a client keeps the order of the table that of the cases.
    seen = [
        Observed(case.read, case.parts, level=5.0, client=f"{n:06d}")
        for n, case in enumerate(cases)
    ]
    table = tabulated(salon.used, seen, salon.chart)
    order = [int(result.client) for result in table.results]
    factors = np.array([strengths.get(name, 1.0) for name in salon.used.names])
    own = np.array([doubts.of(shade) for shade in salon.used.shades])
    wide = standard_doubts(table, factors, own, doubts.deposit)
    wide = COVERAGE * wide * [doubts.depth_factor, doubts.warmth_factor]
    scales = np.broadcast_to(factors, (len(cases), 1, len(factors)))
    predicted = table.batch.predicted(scales)[:, 0, :2]
    true = np.array([(cases[n].level, cases[n].warmth) for n in order])
    return np.asarray(np.abs(predicted - true) / wide)


def strength_error(
    salon: Salon, strengths: Mapping[str, float], *, cases: int
) -> tuple[Array, Array]:
    """Return what wrong strengths alone cost: the line's own, and those given.

    Root mean squares of (level, % warmth), predicted from exact readings of usual hair.
    """
    new = [salon.case(take=1.0) for _ in range(cases)]
    seen = [Observed(case.true, case.parts, level=5.0) for case in new]
    batch = Beds(salon.used, salon.chart).batch(seen)

    def read(factors: Mapping[str, float]) -> Array:
        row = np.array([factors.get(name, 1.0) for name in salon.used.names])
        every = np.broadcast_to(row, (cases, 1, len(row)))
        return np.asarray(batch.predicted(every)[:, 0, :2])

    true = read(salon.strengths)
    own, given = read({}) - true, read(strengths) - true
    return np.sqrt((own**2).mean(axis=0)), np.sqrt((given**2).mean(axis=0))
