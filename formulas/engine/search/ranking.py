"""From all mixes to the few worth showing: a short list per aim.

Order within an aim: distance to the aim, closeness to the limit, fewer shades, enough in
stock to mix again, cost; then the names, so that ties always break the same way. The first
two count in steps that an eye can tell apart, or the later ones would never be asked.

Of up to three shades every mix is ranked. Of four only those that look no more than
`pruned.SLACK_LEVELS` deeper than the frontier are at hand, so only they are: a list may hold
fewer than asked where a place lies far from it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from formulas.engine import checks
from formulas.engine.light.grid import Array, Rows
from formulas.engine.prediction.candidates import Candidate, Readings, candidates, read_rows
from formulas.engine.prediction.explain import Sentence
from formulas.engine.search.reasons import reasons
from formulas.engine.search.search import SearchResult

AIM_STEP_PERCENT = 2.0
GAP_STEP_LEVELS = 0.1
_ROUNDING = 1e-9


@dataclass(frozen=True)
class Ranked:
    """A mix on the short list.

    Attributes
    ----------
    candidate : Candidate
    distance_percent : float
        How far its warmth lies from the aim.
    gap_levels : float
        How much deeper it looks than the limit at its warmth.
    grams : tuple of (shade name, grams) in one bowl
    cost : float or None
    bowls_in_stock : float or None
        How many such bowls the stock fills.
    reasons : tuple of Sentence
        Why it has its place: code, values, English text.
    """

    candidate: Candidate
    distance_percent: float
    gap_levels: float
    grams: tuple[tuple[str, float], ...]
    cost: float | None
    bowls_in_stock: float | None
    reasons: tuple[Sentence, ...]


def rank(result: SearchResult, aims: Sequence[float], *, k: int = 5) -> list[list[Ranked]]:
    """Return the `k` best mixes for each aim (warmth to keep, %), best first.

    Parameters
    ----------
    result : SearchResult
    aims : sequence of float
        Warmth left. [%]
    k : int
        1 to 50. [count]

    Returns
    -------
    ranked : one list per aim
        Shorter than `k` only where there are fewer mixes.

    Raises
    ------
    ValueError
        If a number is out of range.
    """
    count = checks.whole(k, name="k", low=1, high=50)
    numbers = [
        checks.number(aim, name="aims", unit="% warmth", low=-400, high=400) for aim in aims
    ]
    return [_rank_one(result, aim, count) for aim in numbers]


def _rank_one(result: SearchResult, aim: float, k: int) -> list[Ranked]:
    readings = read_rows(result.bed, result.judge, result.space, _contenders(result, aim, k))
    gap = readings.looks - result.curve.at(readings.warmth)
    best = _order(result, readings, gap, aim)[:k]
    chosen = read_rows(result.bed, result.judge, result.space, readings.rows[best])
    return [
        _ranked(result, candidate, aim)
        for candidate in candidates(chosen, result.bed.names, result.space)
    ]


def ranked_mixes(result: SearchResult, mixes: Sequence[Candidate], aim: float) -> list[Ranked]:
    """Return mixes of a search with their grams, cost and reasons, in the same order.

    `aim` is a warmth left. [%]
    """
    return [_ranked(result, mix, aim) for mix in mixes]


def _contenders(result: SearchResult, aim: float, k: int) -> Rows:
    """Return all row numbers that may be among the `k` best; the others provably are not."""
    pool = result.pool
    off_warmth, off_lightness = pool.tolerance
    distance = np.abs(pool.warmth - np.float32(aim))
    distance[pool.lightness == -np.inf] = np.inf
    steps = 1
    usable = int(np.count_nonzero(distance < np.inf))
    within = np.flatnonzero(distance < AIM_STEP_PERCENT + off_warmth)
    while (distance[within] < steps * AIM_STEP_PERCENT - off_warmth).sum() < min(k, usable):
        steps *= 2
        within = np.flatnonzero(distance < steps * AIM_STEP_PERCENT + off_warmth)
    near = distance[within]
    looks = result.judge.levels_deeper_at(pool.lightness[within])
    gap = looks - result.curve.at(pool.warmth[within])
    off = off_lightness * result.judge.levels_per_lightness + off_warmth * _steepest(result)
    kept = []
    for step in range(steps):
        low, high = step * AIM_STEP_PERCENT, (step + 1) * AIM_STEP_PERCENT
        here = np.flatnonzero((near >= low - off_warmth) & (near < high + off_warmth))
        certain = here[(near[here] > low + off_warmth) & (near[here] < high - off_warmth)]
        if len(certain) >= k:
            least = np.partition(np.maximum(gap[certain], 0.0), k - 1)[k - 1] + off
            highest = (np.floor(least / GAP_STEP_LEVELS + _ROUNDING) + 1.0) * GAP_STEP_LEVELS
            here = here[gap[here] <= highest + off]
        kept.append(here)
    return np.asarray(pool.rows[within[np.unique(np.concatenate(kept))]])


def _steepest(result: SearchResult) -> float:
    curve = result.curve
    return float(
        np.abs(np.diff(curve.levels_deeper_looks) / np.diff(curve.warmth_left_percent)).max()
    )


def _order(result: SearchResult, readings: Readings, gap: Array, aim: float) -> Rows:
    shades, parts = result.space.decode(readings.rows)
    distance = np.abs(readings.warmth - aim)
    cost, bowls = _cost_and_bowls(result, shades, parts)
    # The last key is the first to count.
    names = [column for pair in zip(shades.T, parts.T, strict=True) for column in pair]
    keys = [
        *reversed(names),
        parts.sum(axis=1),
        distance.round(6),
        cost.round(4),
        bowls < 2.0,
        (shades >= 0).sum(axis=1),
        np.floor(np.maximum(gap, 0.0) / GAP_STEP_LEVELS + _ROUNDING),
        np.floor(distance / AIM_STEP_PERCENT + _ROUNDING),
    ]
    return np.asarray(np.lexsort(keys))


def _cost_and_bowls(result: SearchResult, shades: Rows, parts: Rows) -> tuple[Array, Array]:
    """Return what one bowl of each mix costs and how many the stock fills (0, inf: unknown)."""
    names = result.bed.names
    grams = result.colour_grams * parts / parts.sum(axis=1, keepdims=True)
    prices = np.array([(result.prices or {}).get(name, 0.0) for name in names])
    stock = np.array([np.inf if result.stock is None else result.stock[n] for n in names])
    with np.errstate(divide="ignore"):
        bowls = np.where(parts > 0, stock[shades] / grams, np.inf).min(axis=1)
    return (grams * prices[shades]).sum(axis=1), bowls


def _ranked(result: SearchResult, candidate: Candidate, aim: float) -> Ranked:
    whole = sum(count for _, count in candidate.parts)
    grams = tuple(
        (name, result.colour_grams * count / whole) for name, count in candidate.parts
    )
    distance = abs(candidate.warmth_left_percent - aim)
    gap = candidate.levels_deeper_looks - float(result.curve.at(candidate.warmth_left_percent))
    cost = bowls = None
    prices = result.prices or {}
    if all(name in prices for name, _weight in grams):
        cost = sum(weight * prices[name] for name, weight in grams)
    if result.stock is not None:
        bowls = min(result.stock[name] / weight for name, weight in grams)
    sentences = reasons(
        candidate, distance=distance, gap=gap, cost=cost, bowls=bowls, near=AIM_STEP_PERCENT
    )
    return Ranked(candidate, distance, gap, grams, cost, bowls, sentences)
