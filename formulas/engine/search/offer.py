"""What is offered of all mixes: within practice, the forgiving one first, and why it.

Among mixes that an eye cannot tell apart the forgiving one comes first: it changes least under
half a gram too much of one shade, five minutes too long, a quarter of a level misread; then the
simpler ratio.
"""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from formulas.engine import checks
from formulas.engine.light.grid import Rows
from formulas.engine.prediction.candidates import Candidate, read_rows
from formulas.engine.prediction.explain import Sentence
from formulas.engine.search.placing import BRIGHT_SHARE, COOL_PERCENT, KEYS, places
from formulas.engine.search.practice import Practice
from formulas.engine.search.search import SearchResult, search
from formulas.engine.search.slips import Slips
from formulas.engine.search.weighing import weighed
from formulas.engine.toner.lines import Line
from formulas.engine.toner.zone import Zone

# What an eye cannot tell apart, on either side.
SAME_PERCENT = 4.0
SAME_LEVELS = 0.1
# Slips that differ by less are one; then the simpler ratio counts.
_SLIP_STEP = 0.25
_MOST_COMPARED = 300


@dataclass(frozen=True)
class Offered:
    """One place on the trade-off with the mix that is offered for it.

    Attributes
    ----------
    key : str
        "bright", "between" or "cool".
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
class Offer:
    """What is offered on a zone, beside all mixes.

    Attributes
    ----------
    every, within : SearchResult
        All mixes, and those within practice; the same where practice leaves none.
    places : tuple of Offered
    keeps_to_practice : bool
    """

    every: SearchResult
    within: SearchResult
    places: tuple[Offered, ...]
    keeps_to_practice: bool


def offer(
    zone: Zone,
    line: Line,
    *,
    practice: Practice | None = None,
    wanted_level: float | None = None,
    max_parts: int = 6,
    **how: Any,
) -> Offer:
    """Return the mixes offered on a zone, warmest first.

    Parameters
    ----------
    zone : Zone
    line : Line
    practice : Practice, optional
        Careful limits if left out.
    wanted_level : float, optional
        As dark as a natural of this level, 1 to 10: a wish for depth beside the warmth. [level]
    max_parts : int
    **how
        As `search` takes them: minutes, grams_in_stock, bowl_grams, price_per_gram, chart, ...

    Raises
    ------
    ValueError
        If a number is out of range or the stock fills no mix.
    """
    every = search(zone, line, max_parts=max_parts, **how)
    return offer_of(
        every, zone, line, practice=practice, wanted_level=wanted_level,
        max_parts=max_parts, **how,
    )  # fmt: skip


def offer_of(
    every: SearchResult,
    zone: Zone,
    line: Line,
    *,
    practice: Practice | None = None,
    wanted_level: float | None = None,
    max_parts: int = 6,
    **how: Any,
) -> Offer:
    """Return the same from a search made already, with the same arguments; see `offer`."""
    practice = practice or Practice()
    if wanted_level is not None:
        checks.number(wanted_level, name="wanted_level", unit="level", low=1, high=10)
    within = within_practice(
        every, zone, line, practice, wanted_level, max_parts=max_parts, **how
    )
    result = within or every
    slips = Slips(zone, result, line, how)
    chosen = tuple(
        _offered(key, aim, every, result, slips)
        for key, aim in _aims(result, wanted_level).items()
    )
    if wanted_level is not None:
        chosen = tuple(replace(one, cost_levels=0.0) for one in chosen)
    return Offer(every, result, chosen, within is not None)


def within_practice(
    every: SearchResult,
    zone: Zone,
    line: Line,
    practice: Practice,
    wanted_level: float | None,
    *,
    max_parts: int = 6,
    **how: Any,
) -> SearchResult | None:
    """Return the search of the mixes within practice; None where there are none."""
    used = practice.line(line, zone, wanted_level)
    if used is None:
        return None
    grams = every.colour_grams
    stock = dict(how.pop("grams_in_stock", None) or dict.fromkeys(line.names, 1e6))
    for shade in used.shades:
        if shade.is_clear:  # no bowl holds more clear than practice allows
            stock[shade.name] = min(stock.get(shade.name, 0.0), practice.most_clear * grams)
    how.pop("max_shades", None)
    try:
        found = search(
            zone,
            used,
            max_shades=min(practice.most_shades, 3),
            max_parts=practice.most_parts(grams, max_parts),
            grams_in_stock=stock,
            **how,
        )
    except ValueError:
        return None
    own = every.stock
    return replace(found, curve=every.curve, stock=own)


def _aims(result: SearchResult, wanted_level: float | None) -> dict[str, tuple[float, float]]:
    """Return (warmth, levels deeper as it looks) of each place.

    A wanted level sets the depth of all three, unless their warmth costs more; then warmth
    runs from what the hair has to as neutral as natural hair.
    """
    found = {
        key: (mix.warmth_left_percent, mix.levels_deeper_looks)
        for key, mix in zip(KEYS, places(result), strict=True)
    }
    if wanted_level is None:
        return found
    judge = result.judge
    deeper = float(judge.looks_level(judge.start_lab)) - wanted_level
    start = max(float(judge.warmth_left_percent(judge.start_lab)), COOL_PERCENT)
    span = start - COOL_PERCENT
    warmth = [COOL_PERCENT + share * span for share in (BRIGHT_SHARE, BRIGHT_SHARE / 2, 0.0)]
    depth = [max(deeper, float(result.curve.at(w))) for w in warmth]
    return dict(zip(KEYS, zip(warmth, depth, strict=True), strict=True))


def _offered(
    key: str,
    aim: tuple[float, float],
    every: SearchResult,
    result: SearchResult,
    slips: "Slips",
) -> Offered:
    rows = _alike(result, aim)
    readings = read_rows(result.bed, result.judge, result.space, rows)
    shades, parts = result.space.decode(rows)
    slip = slips.of(result.space.fractions(rows))
    near = np.floor(weighed(readings.warmth - aim[0], np.abs(readings.looks - aim[1])))
    names = [column for pair in zip(shades.T, parts.T, strict=True) for column in pair]
    fiddly = parts.sum(axis=1) + 2 * (shades >= 0).sum(axis=1)
    keys = [*reversed(names), slip.round(6), fiddly, np.floor(slip / _SLIP_STEP), near]
    best = int(np.lexsort(keys)[0])
    (mix,) = result.read(rows[best : best + 1])
    return Offered(
        key,
        mix,
        float(slip[best]),
        _cost(mix, every),
        _why(mix, float(slip[best])),
    )


def _alike(result: SearchResult, aim: tuple[float, float]) -> Rows:
    """Return the rows nearest to a place: those an eye cannot tell from it among them."""
    pool = result.pool
    looks = result.judge.levels_deeper_at(pool.lightness)
    off = np.maximum(
        np.abs(pool.warmth - aim[0]) / SAME_PERCENT, np.abs(looks - aim[1]) / SAME_LEVELS
    )
    off[pool.lightness == -np.inf] = np.inf
    count = min(
        max(int((off <= 1.0).sum()), 1), 20 * _MOST_COMPARED, int(np.isfinite(off).sum())
    )
    return np.asarray(pool.rows[np.argsort(off, kind="stable")[:count]])


def _cost(mix: Candidate, every: SearchResult) -> float:
    """Return how much deeper a mix looks than the lightest of all that are as cool."""
    cooler = [
        best.levels_deeper_looks
        for best in every.frontier
        if best.warmth_left_percent <= mix.warmth_left_percent + 1e-6
    ]
    return max(mix.levels_deeper_looks - min(cooler, default=mix.levels_deeper_looks), 0.0)


def _why(mix: Candidate, slip: float) -> Sentence:
    """Return in one plain sentence why this mix is offered."""
    count, parts = len(mix.parts), sum(part for _, part in mix.parts)
    ratio = "one shade alone" if count == 1 else f"{count} shades in {parts} parts"
    if slip <= 1.0:
        text = f"It forgives: {ratio}, and a small slip at the bench hardly shows."
        return Sentence("why_forgiving", text, {"shades": count, "parts": parts, "slip": slip})
    text = f"Of the mixes that look the same it is the most forgiving: {ratio}."
    return Sentence("why_most_forgiving", text, {"shades": count, "parts": parts, "slip": slip})
