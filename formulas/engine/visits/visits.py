"""Visits to a zone, and the toner that they left together."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import prod
from typing import Any

import numpy as np

from formulas.engine import checks
from formulas.engine.hair.chart import Chart
from formulas.engine.toner.deposit import prepare, room
from formulas.engine.toner.lines import Line
from formulas.engine.toner.uptake import kept
from formulas.engine.toner.zone import Residual, Zone
from formulas.engine.visits.observing import Observed


@dataclass(frozen=True)
class Visit:
    """One toning of a zone with one line.

    Attributes
    ----------
    zone : Zone
        The hair as it was read, beneath any toner of earlier visits.
    parts : mapping of shade name to parts
    minutes : float or None
        Processing time; None for the line's own. [min]
    washes_since : float
        Until the next visit, or until now. [count]
    lab : (3,) or None
        Measured L*a*b* of the dry result.
    level, warmth_left_percent : float or None
        The result by eye; warmth in % of what the client saw before that toning.
    """

    zone: Zone
    parts: Mapping[str, float]
    minutes: float | None = None
    washes_since: float = 12.0
    lab: Any = None
    level: float | None = None
    warmth_left_percent: float | None = None

    def __post_init__(self) -> None:
        checks.number(self.washes_since, name="washes_since", unit="count", low=0, high=1000)

    def seen_on(self, zone: Zone) -> Observed | None:
        """Return the result on a zone with its toner of earlier visits; None if not noted."""
        if self.lab is None and self.level is None and self.warmth_left_percent is None:
            return None
        return Observed(
            zone, self.parts, self.minutes, None, self.lab, self.level, self.warmth_left_percent
        )


def left_over(
    visits: Sequence[Visit],
    line: Line,
    hair: Zone,
    *,
    strengths: Mapping[str, float] | None = None,
    chart: Chart | None = None,
) -> Residual | None:
    """Return the toner that several visits left together, as one residual.

    Parameters
    ----------
    visits : sequence of Visit
        The oldest first; each with the washes until the next.
    line : Line
    hair : Zone
        As read now; its porosity sets how fast toner fades.
    strengths : mapping of shade name to factor, optional
    chart : Chart, optional

    Returns
    -------
    Residual or None
        None where there was no visit.
    """
    if not visits:
        return None
    chart = chart or Chart.default()
    names = list(dict.fromkeys(n for visit in visits for n in line.resolved(visit.parts)))
    used = replace(line, shades=tuple(line.shade(name) for name in names))
    own = prepare(replace(hair, residual=None), used, chart=chart, strengths=strengths)
    shares = np.zeros(len(names))
    for visit in visits:
        there = prepare(
            replace(visit.zone, residual=None),
            used,
            minutes=visit.minutes,
            chart=chart,
            strengths=strengths,
        )
        # What is still there leaves less room, so that repeated toning saturates.
        # Shares are of the fibres that there are most of: one residual holds for all.
        most = int(own.shares.argmax())
        filled = own.uptake[most] * (shares @ own.loads)
        taken = float(room(filled, visit.zone.lifted_level, chart))
        taken *= prod(there.factors.values()) / prod(own.factors.values())
        taken *= there.fibre_factors["lift"].max() / own.fibre_factors["lift"].max()
        shares += taken * there.fractions(line.resolved(visit.parts))
        shares *= kept(visit.washes_since, kind=line.kind, porosity=hair.porosity)
    weights = dict(zip(names, shares.tolist(), strict=True))
    total = sum(weights.values())
    if total < 1e-6:
        return None
    # A residual holds one toner's worth and fades with washes: less than one is said in
    # washes, more than one in strength.
    one_wash = np.log(kept(1.0, kind=line.kind, porosity=hair.porosity))
    more = max(total, 1.0)
    return Residual(
        line=line,
        parts={name: max(weight / total, 1e-6) for name, weight in weights.items()},
        washes=float(np.log(min(total, 1.0)) / one_wash),
        strengths={name: more * (strengths or {}).get(name, 1.0) for name in weights},
    )
