"""Learn how strong each shade of a line is here, from results that were seen or measured.

Ridge regression on the logarithm of each strength, with the line's own data (strength 1) as
the prior: a shade that was never used keeps strength 1 and its full doubt, and one result
moves a strength only as far as it outweighs that prior. Gauss-Newton steps, since colour is
not linear in strength. A pure function: results in, strengths with their doubt out; whether
they are put to use is for the owner to decide.

References
----------
.. [1] Hoerl & Kennard 1970, Technometrics 12:55-67 (ridge regression; from memory).
.. [2] Allen 1974, Technometrics 16:125-127 (leaving one out; from memory).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from formulas.engine.hair.chart import Chart
from formulas.engine.light.grid import Array
from formulas.engine.prediction.prediction import STRENGTH_DOUBT
from formulas.engine.prediction.ranged import COVERAGE, Ranged
from formulas.engine.toner.lines import Line
from formulas.engine.visits.observing import Observation, Observed, observation

_STEPS = 12
_LONGEST_STEP = 0.5  # in ln strength: keeps Gauss and Newton on the road
_SETTLED = 1e-7
_SLOPE_STEP = 1e-4
# What an error of one counts as when depth and warmth are weighed together.
LEVELS_UNIT, WARMTH_UNIT = 0.25, 10.0


@dataclass(frozen=True)
class Miss:
    """Root mean square of what predictions missed.

    Attributes
    ----------
    levels : float
        Depth, by L*. [levels]
    warmth_percent : float
        Warmth left. [%]
    """

    levels: float
    warmth_percent: float

    @property
    def together(self) -> float:
        """Both in one number: a quarter of a level weighs as much as ten per cent."""
        return float(
            np.hypot(self.levels / LEVELS_UNIT, self.warmth_percent / WARMTH_UNIT) / np.sqrt(2)
        )


@dataclass(frozen=True)
class Learned:
    """What results say about a line's strengths.

    Attributes
    ----------
    results : int
        How many results it rests on. [count]
    strengths : mapping of shade name to Ranged
        Factor on the shade's load, 1 for the line's own; about 19 in 20 lie in the range.
    doubts : mapping of shade name to float
        Relative standard doubt of each strength; for `predict(strength_doubt=...)`.
    before, after : Miss or None
        What the line's own strengths missed, and what the learned ones miss where each
        result is predicted from the others only (leave-one-out). None without results.
    """

    results: int
    strengths: Mapping[str, Ranged[float]]
    doubts: Mapping[str, float]
    before: Miss | None = None
    after: Miss | None = None
    used: frozenset[str] = field(default_factory=frozenset)

    @property
    def improves(self) -> bool:
        """Whether results left out were predicted better than by the line's own strengths."""
        if self.before is None or self.after is None:
            return False
        return self.after.together < self.before.together

    def factors(self) -> dict[str, float]:
        """Return strengths by name of the shades that results speak of, for `predict`."""
        return {name: self.strengths[name].value for name in sorted(self.used)}


def learn(
    line: Line,
    results: Sequence[Observed],
    *,
    chart: Chart | None = None,
    prior_doubt: float = STRENGTH_DOUBT,
) -> Learned:
    """Return each shade's strength as results speak for it.

    Parameters
    ----------
    line : Line
    results : sequence of Observed
        In any order; their order does not matter.
    chart : Chart, optional
    prior_doubt : float
        Relative standard doubt of a strength before any result. [unitless]

    Returns
    -------
    Learned

    Raises
    ------
    ValueError
        If a result names a shade that the line lacks, or a number is out of range.
    """
    chart = chart or Chart.default()
    seen = [observation(line, result, chart) for result in results]
    used = sorted({name for result in results for name in line.resolved(result.parts)})
    columns = [line.names.index(name) for name in used]
    fit = _Fit([one.only(columns) for one in seen], len(used), prior_doubt)
    log, covariance = fit.solve()
    strengths, doubts = {}, {}
    for name in line.names:
        middle, doubt = 0.0, prior_doubt
        if name in used:
            at = used.index(name)
            middle, doubt = float(log[at]), float(np.sqrt(covariance[at, at]))
        low, value, high = np.exp(middle + COVERAGE * doubt * np.array([-1.0, 0.0, 1.0]))
        strengths[name] = Ranged(float(value), float(low), float(high))
        doubts[name] = doubt
    if not seen:
        return Learned(0, strengths, doubts)
    return Learned(
        len(seen), strengths, doubts, fit.miss(np.zeros_like(log)), fit.miss_left_out(log),
        frozenset(used),
    )  # fmt: skip


class _Fit:
    """Least squares with a ridge, over ln strength (m,)."""

    def __init__(self, seen: Sequence[Observation], count: int, doubt: float) -> None:
        self.seen = seen
        self.count = count
        self.ridge = np.eye(count) / doubt**2

    def solve(self) -> tuple[Array, Array]:
        """Return ln strengths (m,) and their covariance (m, m)."""
        log = np.zeros(self.count)
        for _ in range(_STEPS):
            parts = [self._slope(one, log) for one in self.seen]
            pull = self.ridge @ log + sum((j.T @ r for r, j in parts), np.zeros(self.count))
            step = -np.linalg.solve(self._curvature(parts), pull) if self.count else log
            log = log + np.clip(step, -_LONGEST_STEP, _LONGEST_STEP)
            if not len(step) or np.abs(step).max() < _SETTLED:
                break
        last = self._curvature([self._slope(one, log) for one in self.seen])
        return log, np.asarray(np.linalg.inv(last), dtype=float)

    def _curvature(self, parts: Sequence[tuple[Array, Array]]) -> Array:
        return np.asarray(
            self.ridge + sum((j.T @ j for _, j in parts), np.zeros_like(self.ridge))
        )

    def _slope(self, one: Observation, log: Array) -> tuple[Array, Array]:
        """Return what a prediction misses (k,), and how that moves with ln strength (k, m)."""
        trials = np.concatenate([log[None], log + _SLOPE_STEP * np.eye(self.count)])
        missed = one.missed(np.exp(trials))
        return missed[0], ((missed[1:] - missed[0]) / _SLOPE_STEP).T

    def miss(self, log: Array) -> Miss:
        """Return what strengths miss of the results."""
        return _root_mean_square([one.levels_and_warmth(np.exp(log)) for one in self.seen])

    def miss_left_out(self, log: Array) -> Miss:
        """Return what each result's prediction from the others misses.

        Leaving one out moves the optimum by one Newton step, so no refit is needed.
        """
        parts = [self._slope(one, log) for one in self.seen]
        whole = self._curvature(parts)
        errors = []
        for one, (missed, slope) in zip(self.seen, parts, strict=True):
            without = log + np.linalg.solve(whole - slope.T @ slope, slope.T @ missed)
            errors.append(one.levels_and_warmth(np.exp(without)))
        return _root_mean_square(errors)


def _root_mean_square(errors: Sequence[Array]) -> Miss:
    table = np.stack(errors)
    seen = np.maximum((~np.isnan(table)).sum(axis=0), 1)
    levels, warmth = np.sqrt(np.nansum(table**2, axis=0) / seen)
    return Miss(float(levels), float(warmth))
