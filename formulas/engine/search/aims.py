"""Places on the trade-off that are aimed at: how warm, and how deep it looks."""

from dataclasses import dataclass

import numpy as np

from formulas.engine import checks
from formulas.engine.search.placing import (
    BRIGHT_SHARE,
    COOL_PERCENT,
    KEYS,
    LEAST_SPAN,
    places,
)
from formulas.engine.search.search import SearchResult

# Steps of warmth in which the line is walked along, from the warmest to the coolest.
STEPS = 28
# Far past neutral nobody asks for more.
COOLEST_PERCENT = -20.0


@dataclass(frozen=True)
class Aim:
    """A place on the trade-off.

    Attributes
    ----------
    warmth_percent : float
        Warmth left. [%]
    levels_deeper : float
        How much deeper than now it looks. [levels]
    """

    warmth_percent: float
    levels_deeper: float

    def __post_init__(self) -> None:
        checks.number(self.warmth_percent, name="aim", unit="% warmth", low=-1000, high=1000)
        checks.number(self.levels_deeper, name="levels_deeper", unit="levels", low=-20, high=20)


def named_aims(result: SearchResult, wanted_level: float | None) -> dict[str, Aim]:
    """Return the aim of each named place, warmest first.

    A wanted level sets the depth of all three, unless their warmth costs more; then warmth
    runs from what the hair has to as neutral as natural hair.
    """
    if wanted_level is None:
        return {
            key: Aim(mix.warmth_left_percent, mix.levels_deeper_looks)
            for key, mix in zip(KEYS, places(result), strict=True)
        }
    span = _warmest_at_level(result) - COOL_PERCENT
    shares = (BRIGHT_SHARE, BRIGHT_SHARE / 2, 0.0)
    return {
        key: _at_level(result, COOL_PERCENT + share * span, wanted_level)
        for key, share in zip(KEYS, shares, strict=True)
    }


def aims_along(result: SearchResult, wanted_level: float | None) -> list[Aim]:
    """Return aims along the trade-off, warmest first: the frontier, or at a wanted level."""
    frontier = result.frontier
    start = result.judge.start_percent
    if wanted_level is not None:
        warmest = _warmest_at_level(result)
        coolest = min(COOLEST_PERCENT, warmest)
    else:
        wanted = result.judge.coolest_percent or min(COOLEST_PERCENT, start)
        coolest = max(frontier[-1].warmth_left_percent, wanted)
        warmest = max(min(frontier[0].warmth_left_percent, start), coolest)
    grid = np.linspace(warmest, coolest, STEPS)
    if wanted_level is not None:
        return [_at_level(result, float(warmth), wanted_level) for warmth in grid]
    mixes = [
        min(frontier, key=lambda mix: abs(mix.warmth_left_percent - warmth)) for warmth in grid
    ]
    return [Aim(mix.warmth_left_percent, mix.levels_deeper_looks) for mix in mixes]


def _warmest_at_level(result: SearchResult) -> float:
    """Return the warmth from which places at a wanted level run to neutral: the start's.

    Hair that shows little may want some with its depth, so at least `LEAST_SPAN` past neutral.
    """
    return max(result.judge.start_percent, COOL_PERCENT + LEAST_SPAN)


def _at_level(result: SearchResult, warmth: float, wanted_level: float) -> Aim:
    judge = result.judge
    deeper = float(judge.looks_level(judge.start_lab)) - wanted_level
    return Aim(warmth, max(deeper, float(result.curve.at(warmth))))
