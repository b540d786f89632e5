"""From all mixes to the few worth showing: a short list per aim, and three places.

Order within an aim: distance to the aim, closeness to the limit, fewer shades, enough in
stock to mix again, cost; then the names, so that ties always break the same way. The first
two count in steps that an eye can tell apart, or the later ones would never be asked.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from formulas.engine import checks
from formulas.engine.explain import Sentence
from formulas.engine.search import Candidate, SearchResult

AIM_STEP_PERCENT = 2.0
GAP_STEP_LEVELS = 0.1
_WIDEST_PERCENT = 30.0
_POOL = 400


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
        Shorter than `k` only where the line has fewer mixes near the aim.

    Raises
    ------
    ValueError
        If a number is out of range.
    """
    count = checks.whole(k, name="k", low=1, high=50)
    return [
        _rank_one(
            result, checks.number(aim, name="aims", unit="% warmth", low=-200, high=200), count
        )
        for aim in aims
    ]


def _rank_one(result: SearchResult, aim: float, k: int) -> list[Ranked]:
    distance = np.abs(result.warmth - np.float32(aim))
    reach = AIM_STEP_PERCENT
    while True:
        rows = np.flatnonzero(distance < reach)
        if len(rows) >= 4 * k or reach > _WIDEST_PERCENT:
            break
        reach += AIM_STEP_PERCENT
    # The lightest of each step can win; a pool by lightness holds them all, since the gap
    # to the limit falls as lightness rises.
    steps = (distance[rows] / AIM_STEP_PERCENT).astype(int)
    order = np.lexsort((-result.lightness[rows], steps))
    pool = rows[order][: max(_POOL, 8 * k)]
    ranked = [_ranked(result, candidate, aim) for candidate in result.read(pool)]
    return sorted(ranked, key=_key)[:k]


def _key(one: Ranked) -> tuple:
    parts = one.candidate.parts
    return (
        int(one.distance_percent / AIM_STEP_PERCENT + 1e-9),
        int(max(one.gap_levels, 0.0) / GAP_STEP_LEVELS + 1e-9),
        len(parts),
        0 if one.bowls_in_stock is None or one.bowls_in_stock >= 2 else 1,
        round(one.cost, 4) if one.cost is not None else 0.0,
        round(one.distance_percent, 6),
        sum(count for _, count in parts),
        parts,
    )


def _ranked(result: SearchResult, candidate: Candidate, aim: float) -> Ranked:
    whole = sum(count for _, count in candidate.parts)
    grams = tuple(
        (name, result.grams_per_fraction * count / whole) for name, count in candidate.parts
    )
    distance = abs(candidate.warmth_left_percent - aim)
    gap = candidate.levels_deeper_looks - float(result.curve.at(candidate.warmth_left_percent))
    cost = bowls = None
    if result.prices is not None:
        cost = sum(weight * result.prices.get(name, 0.0) for name, weight in grams)
    if result.stock is not None:
        bowls = min(result.stock[name] / weight for name, weight in grams)
    return Ranked(
        candidate, distance, gap, grams, cost, bowls,
        _reasons(candidate, distance, gap, bowls),
    )  # fmt: skip


def _reasons(
    candidate: Candidate, distance: float, gap: float, bowls: float | None
) -> tuple[Sentence, ...]:
    said = []
    if distance <= AIM_STEP_PERCENT:
        said.append(Sentence("on_aim", "It meets the chosen warmth."))
    else:
        text = f"It misses the chosen warmth by {distance:.0f} %."
        said.append(Sentence("off_aim", text, {"percent": distance}))
    if gap <= 0.25:
        said.append(Sentence("near_limit", "Hardly any mix could be lighter at this warmth."))
    else:
        text = f"It looks {gap:.1f} levels deeper than the lightest that physics allows."
        said.append(Sentence("above_limit", text, {"levels": gap}))
    count = len(candidate.parts)
    if count == 1:
        said.append(Sentence("one_shade", "One shade only."))
    if abs(candidate.cast) > 3:
        lean = "green_lean" if candidate.cast > 0 else "red_lean"
        text = f"It leans slightly towards {'green' if candidate.cast > 0 else 'red-violet'}."
        said.append(Sentence(lean, text, {"cast": candidate.cast}))
    if bowls is not None and bowls < 2:
        said.append(Sentence("last_bowl", "The stock fills one such bowl only."))
    return tuple(said)


@dataclass(frozen=True)
class Places:
    """Three places on the frontier: bright with some warmth, between, coolest and deeper."""

    bright: Candidate
    between: Candidate
    cool: Candidate


# The bright place keeps about this much of the warmth; the cool one aims at natural
# neutrality; the third lies half-way. Where a line cannot reach so far, its own ends serve.
BRIGHT_PERCENT = 70.0
COOL_PERCENT = 5.0


def places(result: SearchResult) -> Places:
    """Return three places on a frontier, warmest first; they may coincide on a short one."""
    frontier = result.frontier
    coolest = frontier[-1].warmth_left_percent
    start = max(float(result.judge.warmth_left_percent(result.judge.start_lab)), coolest)
    cool_aim = max(COOL_PERCENT, coolest)
    bright_aim = max(cool_aim, start - (100.0 - BRIGHT_PERCENT) / 100.0 * abs(start))
    between_aim = (bright_aim + cool_aim) / 2.0

    def nearest(aim: float) -> Candidate:
        return min(
            frontier, key=lambda c: (round(abs(c.warmth_left_percent - aim), 6), c.parts)
        )

    return Places(nearest(bright_aim), nearest(between_aim), nearest(cool_aim))
