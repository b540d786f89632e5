"""How close a line comes to the limit: per base, how much deeper its best mix looks."""

from collections.abc import Sequence
from dataclasses import dataclass

from formulas.engine import checks
from formulas.engine.hair.chart import Chart
from formulas.engine.search.search import search
from formulas.engine.toner.lines import Line
from formulas.engine.toner.zone import Zone

AIMS = (70.0, 40.0, 20.0, 5.0)


@dataclass(frozen=True)
class Quality:
    """One base and one warmth.

    Attributes
    ----------
    level : float
        Lifted level.
    warmth_percent : float
        Warmth left, at most.
    limit_levels : float
        The least depth that any deposit costs, as it looks.
    best_levels : float or None
        What the lightest mix of the line costs; None where no mix is so cool.
    """

    level: float
    warmth_percent: float
    limit_levels: float
    best_levels: float | None

    @property
    def gap_levels(self) -> float | None:
        """How much deeper the line's best looks than the limit. [levels]"""
        return None if self.best_levels is None else self.best_levels - self.limit_levels


def quality(
    line: Line,
    *,
    levels: Sequence[float] = (5.0, 6.0, 7.0, 8.0, 9.0, 10.0),
    aims: Sequence[float] = AIMS,
    chart: Chart | None = None,
) -> list[Quality]:
    """Return how close a line comes to the limit, for each base and warmth.

    Parameters
    ----------
    line : Line
    levels : sequence of float
        Lifted levels, 1 to 10. [level]
    aims : sequence of float
        Warmth left, at most. [%]
    chart : Chart, optional

    Raises
    ------
    ValueError
        If a level or an aim is out of range.
    """
    rows = []
    for level in levels:
        result = search(Zone(level), line, chart=chart)
        for aim in aims:
            warmth = checks.number(aim, name="aims", unit="% warmth", low=-400, high=400)
            cool = [
                mix.levels_deeper_looks
                for mix in result.frontier
                if mix.warmth_left_percent <= warmth
            ]
            best = min(cool) if cool else None
            rows.append(Quality(level, warmth, float(result.curve.at(warmth)), best))
    return rows
