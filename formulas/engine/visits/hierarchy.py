"""One hierarchical model of results: salon, readers, line, shades, clients, and the rest.

What was seen less what is predicted is, for result i of client c, seen by reader r on a zone
that reader z had read,

    y_i = salon + reader_r - slope_i * start_z + D_i (line + shades + take_c) + rest_i

in levels of depth, % of warmth and, where measured, cast. `D_i` is how ln strength moves the
prediction, `slope_i` how the zone's level does. Every term but the rest is normal with a
variance of its own, settled by EM with a weak prior; the rest has heavy tails (Student's t), so
a result that was noted wrongly pulls little. Each step linearises at the strengths reached.

References
----------
.. [1] Lange, Little & Taylor 1989, J. Am. Stat. Assoc. 84:881-896 (t errors by reweighting).
.. [2] Dempster, Laird & Rubin 1977, J. R. Stat. Soc. B 39:1-38 (EM). Both from memory.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from formulas.engine.light.grid import Array
from formulas.engine.visits.table import Table

TAILS = 4.0  # degrees of freedom of the rest
_ROUNDS, _INNER = 4, 5
_LONGEST_STEP = 0.5  # in ln strength: keeps Gauss and Newton on the road
_SETTLED = 1e-4
_SLOPE_STEP = 1e-3

# Standard deviations before any result, and how many terms' worth this prior counts (model
# assumptions). Levels, %, ln strength.
PRIORS: Mapping[str, tuple[float, float]] = {
    "salon level": (0.15, 20.0),
    "salon warmth": (5.0, 20.0),
    "reader level": (0.25, 3.0),
    "reader warmth": (8.0, 3.0),
    "start level": (0.15, 3.0),
    "line": (0.1, 20.0),
    "shade": (0.12, 6.0),
    "client": (0.12, 6.0),
}
# The rest by eye and measured: level, warmth, cast.
REST = {False: (0.3, 11.0), True: (0.2, 7.0, 2.0)}
_REST_WORTH = 8.0


@dataclass(frozen=True, eq=False)
class Fitted:
    """A fitted model.

    Attributes
    ----------
    columns : tuple of (group, name)
    mean, covariance : (p,), (p, p) float arrays
    weights : (n,) float array
        Of each result, 1 where it is as expected, near 0 where it was noted wrongly.
    design : (rows, p) float array
    raw, left, held_out : (rows,) float arrays
        What predictions at the linearised strengths miss; what no term explains; the same
        where a client's results are predicted from other clients only.
    rest : (rows,) float array
        Standard deviation of the rest.
    """

    columns: tuple[tuple[str, str], ...]
    mean: Array
    covariance: Array
    weights: Array
    design: Array
    raw: Array
    left: Array
    held_out: Array
    rest: Array
    spread: Mapping[str, float] = field(default_factory=dict)

    def places(self, *groups: str) -> list[int]:
        """Return the columns of some groups."""
        return [n for n, (group, _name) in enumerate(self.columns) if group in groups]

    def part(self, *groups: str) -> Array:
        """Return what some groups together explain of each row."""
        places = self.places(*groups)
        return np.asarray(self.design[:, places] @ self.mean[places])


def shortened(step: Array) -> Array:
    """Return steps in ln strength that are no longer than keeps the way straight enough."""
    return np.clip(step, -_LONGEST_STEP, _LONGEST_STEP)


def fit(table: Table, *, fixed: Array | None = None) -> Fitted:
    """Return the model fitted to results.

    Parameters
    ----------
    table : Table
    fixed : (m,) float array, optional
        ln strengths that are not to be learned; the line's and the shades' terms are then
        left out.
    """
    columns = _columns(table, learns=fixed is None)
    groups = [group for group, _name in columns]
    curved = np.array([group in ("line", "shade", "client") for group in groups])
    place = {column: n for n, column in enumerate(columns)}
    spread = {name: deviation for name, (deviation, _worth) in PRIORS.items()}
    rest = _rest_by_kind(table)
    mean, weights = np.zeros(len(columns)), np.ones(len(table.results))
    for _ in range(_ROUNDS):
        before = mean
        logs = _logs(table, place, mean, fixed)
        raw, slopes = _linearised(table, logs)
        design = _design(table, place, slopes, learns=fixed is None)
        known = 0.0 if fixed is None else fixed[None, :]
        target = raw + (slopes * (logs - known)[table.owner]).sum(axis=1)
        for _ in range(_INNER):
            deviations = np.asarray(rest[table.kind], dtype=float)
            strength = weights[table.owner] / deviations**2
            prior = np.array([1.0 / spread[group] ** 2 for group in groups])
            precision = (design.T * strength) @ design + np.diag(prior)
            covariance = np.asarray(np.linalg.inv(precision), dtype=float)
            mean = covariance @ (design.T @ (strength * target))
            left = target - design @ mean
            doubt = np.einsum("rp,pq,rq->r", design, covariance, design)
            weights = _weights(table, left, doubt, deviations)
            rest = _new_rest(table, left, doubt, weights, rest)
            spread = _new_spread(groups, mean, covariance, spread)
        # Only what is linearised needs short steps: ln strengths, not offsets.
        step = shortened(mean - before)
        mean = np.where(curved, before + step, mean)
        if np.abs(step[curved]).max(initial=0.0) < _SETTLED:
            break
    strength = weights[table.owner] / deviations**2
    held_out = _held_out(table, design, covariance, strength, left)
    return Fitted(
        columns,
        mean,
        covariance,
        weights,
        design,
        raw,
        left,
        held_out,
        rest[table.kind],
        spread,
    )


def _columns(table: Table, *, learns: bool) -> tuple[tuple[str, str], ...]:
    found = [("salon level", ""), ("salon warmth", "")]
    for reader in table.readers:
        found += [("reader level", reader), ("reader warmth", reader)]
    found += [("start level", reader) for reader in table.starters]
    if learns and table.coloured.any():
        found.append(("line", ""))
        found += [("shade", table.shades[n]) for n in np.flatnonzero(table.coloured)]
    return (*found, *[("client", str(n)) for n in range(table.clients)])


def _logs(
    table: Table, place: Mapping[tuple[str, str], int], mean: Array, fixed: Array | None
) -> Array:
    """Return ln strength of every shade in every result, (n, m)."""
    own = np.zeros(len(table.shades)) if fixed is None else fixed.copy()
    if fixed is None:
        for n in np.flatnonzero(table.coloured):
            own[n] = mean[place["line", ""]] + mean[place["shade", table.shades[n]]]
    first = place.get(("client", "0"), 0)
    takes = mean[first + table.client]
    return np.asarray((own + takes[:, None]) * table.coloured)


def _linearised(table: Table, logs: Array) -> tuple[Array, Array]:
    """Return seen less predicted (rows,), and how ln strengths move predictions (rows, m)."""
    at = np.repeat(logs[:, None, :], 1 + logs.shape[1], axis=1)
    at[:, 1:] += _SLOPE_STEP * np.diag(table.coloured)
    read = table.batch.predicted(np.exp(at))
    slopes = (read[:, 1:] - read[:, :1]) / _SLOPE_STEP
    owner, channel = table.owner, table.channel
    return table.noted - read[owner, 0, channel], slopes[owner, :, channel]


def _design(
    table: Table, place: Mapping[tuple[str, str], int], slopes: Array, *, learns: bool
) -> Array:
    design = np.zeros((len(table.owner), len(place)))
    level, warmth = table.channel == 0, table.channel == 1
    design[level, place["salon level", ""]] = 1.0
    design[warmth, place["salon warmth", ""]] = 1.0
    readers = np.array([result.reader for result in table.results])[table.owner]
    starters = np.array([result.zone_reader for result in table.results])[table.owner]
    for reader in table.readers:
        own = (readers == reader) & (table.kind < 2)
        design[own & level, place["reader level", reader]] = 1.0
        design[own & warmth, place["reader warmth", reader]] = 1.0
    for reader in table.starters:
        own = starters == reader
        design[own, place["start level", reader]] = -table.slope[own]
    if learns and table.coloured.any():
        design[:, place["line", ""]] = slopes.sum(axis=1)
        for n in np.flatnonzero(table.coloured):
            design[:, place["shade", table.shades[n]]] = slopes[:, n]
    rows = np.arange(len(table.owner))
    design[rows, place["client", "0"] + table.client[table.owner]] = slopes.sum(axis=1)
    return design


def _rest_by_kind(table: Table) -> Array:
    return np.array([*REST[False], *REST[True]])


def _weights(table: Table, left: Array, doubt: Array, deviations: Array) -> Array:
    count = np.bincount(table.owner, minlength=len(table.results))
    square = (left**2 + doubt) / deviations**2
    distance = np.bincount(table.owner, square, minlength=len(table.results))
    return np.asarray((TAILS + count) / (TAILS + distance))


def _new_rest(table: Table, left: Array, doubt: Array, weights: Array, rest: Array) -> Array:
    square = weights[table.owner] * (left**2 + doubt)
    total = np.bincount(table.kind, square, minlength=len(rest))
    count = np.bincount(table.kind, minlength=len(rest))
    first = _rest_by_kind(table)
    return np.asarray(np.sqrt((_REST_WORTH * first**2 + total) / (_REST_WORTH + count)))


def _new_spread(
    groups: Sequence[str], mean: Array, covariance: Array, spread: Mapping[str, float]
) -> dict[str, float]:
    square = mean**2 + np.diag(covariance)
    found = {}
    for name, (first, worth) in PRIORS.items():
        own = [value for group, value in zip(groups, square, strict=True) if group == name]
        found[name] = float(np.sqrt((worth * first**2 + sum(own)) / (worth + len(own))))
    return found


def _held_out(
    table: Table, design: Array, covariance: Array, strength: Array, left: Array
) -> Array:
    """Return what is left where a client's rows are predicted without that client.

    Leaving rows out of a linear fit needs no refit: (1 - H)^-1 of what is left, with H the
    client's own block of the hat matrix.
    """
    found = np.empty_like(left)
    owner = table.client[table.owner]
    for client in range(table.clients):
        rows = np.flatnonzero(owner == client)
        block = design[rows]
        hat = block @ covariance @ (block.T * strength[rows])
        found[rows] = np.linalg.solve(np.eye(len(rows)) - hat, left[rows])
    return found
