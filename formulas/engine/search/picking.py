"""Which mix is offered for a place on the trade-off, and why it.

Among mixes that are as warm and as deep to the eye, those that lean least towards green or
violet come first, and of these the forgiving one: it changes least under half a gram too much
of one shade, five minutes too long, a quarter of a level misread; then the simpler ratio.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from formulas.engine.light.grid import Array, Rows
from formulas.engine.prediction.candidates import Candidate, read_fractions
from formulas.engine.prediction.explain import Sentence
from formulas.engine.search.aims import Aim, aims_along, named_aims
from formulas.engine.search.practice import Practice
from formulas.engine.search.search import SearchResult
from formulas.engine.search.slips import Slips
from formulas.engine.search.weighing import LEVELS_UNIT, PERCENT_UNIT, weighed

# What an eye cannot tell apart, on either side: well within what it lets pass.
SAME_PERCENT, SAME_LEVELS = 0.4 * PERCENT_UNIT, 0.4 * LEVELS_UNIT
# Slips that differ by less are one; then the simpler ratio counts.
_SLIP_STEP = 0.25
_MOST_COMPARED = 6000
# As warm and as deep, yet olive or rosy: an eye tells these steps of cast apart. [a*b*]
_CAST_STEP = 2.5


@dataclass(frozen=True)
class Offered:
    """A mix that is offered for a place on the trade-off.

    Attributes
    ----------
    key : str
        "bright", "between" or "cool"; empty for places between them.
    mix : Candidate
    slip : float
        How far the three slips move it together; 1 is what an eye lets pass. [unitless]
    cost_levels : float
        How much deeper it looks than the best of all mixes there: what practice costs. [levels]
    why : Sentence
    """

    key: str
    mix: Candidate
    slip: float
    cost_levels: float
    why: Sentence


@dataclass(frozen=True, eq=False)
class _Compared:
    """Mixes that are compared, by row; all arrays run over the same rows."""

    rows: Rows
    warmth: Array
    looks: Array
    shades: Rows
    parts: Rows
    slip: Array
    cast: Array


@dataclass(frozen=True, eq=False)
class Picker:
    """Picks the mixes that are offered for aims."""

    every: SearchResult
    result: SearchResult
    practice: Practice
    slips: Slips
    wanted_level: float | None

    def along(self) -> tuple[Offered, ...]:
        """Return the offered mixes from the warmest to the coolest, unbeaten ones only."""
        named = list(named_aims(self.result, self.wanted_level).items())
        between = [("", aim) for aim in aims_along(self.result, self.wanted_level)]
        picked = [row[0] for row in self.pick([*named, *between], k=1)]
        kept = picked[: len(named)]
        known = {offered.mix.parts for offered in kept}
        for offered in picked[len(named) :]:
            is_unbeaten = self.wanted_level is not None or not any(
                _beats(other, offered) or _beats(offered, other) for other in kept
            )
            if offered.mix.parts not in known and is_unbeaten:
                known.add(offered.mix.parts)
                kept.append(offered)
        return tuple(sorted(kept, key=lambda offered: -offered.mix.warmth_left_percent))

    def pick(self, aims: Sequence[tuple[str, Aim]], *, k: int) -> list[list[Offered]]:
        """Return the `k` best mixes for each aim, best first; `aims` are (key, aim)."""
        alike = [self._alike(aim, k) for _, aim in aims]
        every = self._compared(np.unique(np.concatenate(alike)))
        chosen = [
            self._best(aim, every, np.searchsorted(every.rows, mine), k)
            for (_, aim), mine in zip(aims, alike, strict=True)
        ]
        # The best of all aims are read at once.
        mixes = iter(self.result.read(every.rows[np.concatenate([best for best, _ in chosen])]))
        return [
            [self._offered(key, next(mixes), float(every.slip[n]), alone) for n in best]
            for (key, _), (best, alone) in zip(aims, chosen, strict=True)
        ]

    def _compared(self, rows: Rows) -> "_Compared":
        result = self.result
        shades, parts = result.space.decode(rows)
        fractions = result.space.fractions_of(shades, parts)
        readings = read_fractions(result.bed, result.judge, rows, fractions)
        slip = self.slips.of(fractions, readings)
        return _Compared(
            rows, readings.warmth, readings.looks, shades, parts, slip, readings.cast
        )

    def _best(self, aim: Aim, every: "_Compared", mine: Rows, k: int) -> tuple[Rows, bool]:
        """Return the places of the best for an aim, best first, and whether one is alone."""
        shades, parts, slip = every.shades[mine], every.parts[mine], every.slip[mine]
        warmth, looks = every.warmth[mine], every.looks[mine]
        off = weighed(warmth - aim.warmth_percent, np.abs(looks - aim.levels_deeper))
        names = [column for pair in zip(shades.T, parts.T, strict=True) for column in pair]
        fiddly = parts.sum(axis=1) + 2 * (shades >= 0).sum(axis=1)
        simple = [fiddly, np.floor(slip / _SLIP_STEP)] if self.practice.simple_first else []
        # The last key is the first to count.
        leans = np.floor(np.abs(every.cast[mine]) / _CAST_STEP)
        keys = [*reversed(names), off.round(6), slip.round(6), *simple, leans, np.floor(off)]
        best = np.lexsort(keys)[:k]
        alone = int((np.floor(off) == np.floor(off).min()).sum()) == 1
        return mine[best], alone

    def _offered(self, key: str, mix: Candidate, slip: float, alone: bool) -> Offered:
        return Offered(key, mix, slip, self._cost(mix), why(mix, slip, alone))

    @cached_property
    def _by_warmth(self) -> tuple[Rows, Array, Array]:
        """Rows that the stock fills, the coolest first, with warmth (%) and levels deeper."""
        pool = self.result.pool
        usable = np.flatnonzero(pool.lightness > -np.inf)
        order = usable[np.argsort(pool.warmth[usable], kind="stable")]
        looks = self.result.judge.levels_deeper_at(pool.lightness[order])
        return np.asarray(pool.rows[order]), pool.warmth[order].astype(np.float64), looks

    def _alike(self, aim: Aim, k: int) -> Rows:
        """Return the rows that an eye cannot tell from a place, or the nearest `k`."""
        rows, warmth, looks = self._by_warmth
        near = [aim.warmth_percent - SAME_PERCENT, aim.warmth_percent + SAME_PERCENT]
        here = slice(*np.searchsorted(warmth, near))
        off = _far(aim, warmth[here], looks[here])
        if (off <= 1.0).sum() < k:  # look further than an eye is sure of
            here = slice(None)
            off = _far(aim, warmth, looks)
        count = min(max(int((off <= 1.0).sum()), k), _MOST_COMPARED, len(off))
        nearest = np.argpartition(off, count - 1)[:count]
        return np.asarray(rows[here][np.sort(nearest)])

    def _cost(self, mix: Candidate) -> float:
        """Return how much deeper a mix looks than the lightest of all that are as cool."""
        if self.wanted_level is not None:
            return 0.0
        cooler = [
            best.levels_deeper_looks
            for best in self.every.frontier
            if best.warmth_left_percent <= mix.warmth_left_percent + 1e-6
        ]
        return max(mix.levels_deeper_looks - min(cooler, default=mix.levels_deeper_looks), 0.0)


def _far(aim: Aim, warmth: Array, looks: Array) -> Array:
    """Return how far colours lie from an aim; up to 1 an eye cannot tell them apart."""
    return np.maximum(
        np.abs(warmth - aim.warmth_percent) / SAME_PERCENT,
        np.abs(looks - aim.levels_deeper) / SAME_LEVELS,
    )


def _beats(one: Offered, other: Offered) -> bool:
    """Return whether one mix is as cool and as light as another, or more."""
    return (
        one.mix.warmth_left_percent <= other.mix.warmth_left_percent
        and one.mix.levels_deeper_looks <= other.mix.levels_deeper_looks
    )


def why(mix: Candidate, slip: float, alone: bool) -> Sentence:
    """Return in one plain sentence why this mix is offered."""
    values = {"shades": len(mix.parts), "parts": sum(n for _, n in mix.parts), "slip": slip}
    if alone:
        return Sentence("why_nearest", "No other mix within practice comes as near.", values)
    if slip <= 1.0:
        text = "It forgives: a small slip at the bench hardly shows."
        return Sentence("why_forgiving", text, values)
    text = "Of the mixes that look the same it is the most forgiving."
    return Sentence("why_most_forgiving", text, values)
