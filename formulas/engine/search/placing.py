"""Three places on the trade-off for the client to choose from.

The rule. *Cool* aims at natural neutrality (5 % of the warmth left), or at the coolest that
the line reaches if that is warmer. *Bright* keeps most of the warmth: two thirds of the way
back from there to the start, which is 70 % where neutrality is within reach. *Between* lies
half-way. Hair that shows little warmth, such as white hair, starts near neutral already: there
the cool place goes `LEAST_SPAN` past the start, so that three places are left to choose from.
Each place is the frontier's mix nearest to its aim; wherever the frontier has enough mixes the
three are different, and they always run from warm to cool.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from formulas.engine.limit.limit import LimitCurve
from formulas.engine.prediction.candidates import Candidate
from formulas.engine.search.search import SearchResult

KEYS = ("bright", "between", "cool")
COOL_PERCENT = 5.0
BRIGHT_SHARE = 0.68
LEAST_SPAN = 50.0  # from the start to the cool place; of little warmth [%]


@dataclass(frozen=True)
class Places:
    """Three places on the frontier: bright with some warmth, between, coolest and deeper.

    Attributes
    ----------
    bright, between, cool : Candidate
    beyond_limit : tuple of 3 float
        How much deeper each looks than the limit at its warmth. [levels]
    """

    bright: Candidate
    between: Candidate
    cool: Candidate
    beyond_limit: tuple[float, float, float]

    def __iter__(self) -> Iterator[Candidate]:
        return iter((self.bright, self.between, self.cool))

    @property
    def distinct(self) -> int:
        """How many different mixes the three places hold. [count]"""
        return len({place.parts for place in self})


def places(result: SearchResult, curve: LimitCurve | None = None) -> Places:
    """Return three places on a frontier, warmest first; they coincide only on a short one.

    Parameters
    ----------
    result : SearchResult
    curve : LimitCurve, optional
        The zone's limit; the result's own if left out.
    """
    curve = curve or result.curve
    frontier = result.frontier  # warmest first
    start, cool_aim = result.judge.start_percent, COOL_PERCENT
    if result.judge.has_little_warmth:
        cool_aim = min(cool_aim, start - LEAST_SPAN)
    cool_aim = max(cool_aim, frontier[-1].warmth_left_percent)
    if start <= cool_aim:  # no warmth to begin with: stay as light as can be
        cool_aim = frontier[0].warmth_left_percent
    bright_aim = cool_aim + BRIGHT_SHARE * max(start - cool_aim, 0.0)
    cool = _nearest(frontier, cool_aim, first=min(2, len(frontier) - 1), last=len(frontier) - 1)
    bright = _nearest(frontier, bright_aim, first=0, last=max(cool - 2, 0))
    between = _nearest(
        frontier,
        (bright_aim + cool_aim) / 2.0,
        first=min(bright + 1, cool),
        last=max(cool - 1, bright),
    )
    chosen = [frontier[at] for at in (bright, between, cool)]
    gaps = [c.levels_deeper_looks - float(curve.at(c.warmth_left_percent)) for c in chosen]
    return Places(chosen[0], chosen[1], chosen[2], (gaps[0], gaps[1], gaps[2]))


def _nearest(frontier: tuple[Candidate, ...], aim: float, *, first: int, last: int) -> int:
    """Return the place of the mix nearest to an aim, the lighter one of two."""
    return min(
        range(first, last + 1),
        key=lambda at: (round(abs(frontier[at].warmth_left_percent - aim), 6), at),
    )
