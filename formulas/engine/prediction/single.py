"""One mix on one zone, read quickly and without ranges, and how long or how thin to use it."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from formulas.engine import checks
from formulas.engine.hair.chart import Chart
from formulas.engine.light.colorimetry import reflectance_to_lab
from formulas.engine.prediction.candidates import Candidate
from formulas.engine.prediction.numbers import judge_of
from formulas.engine.toner.deposit import prepare
from formulas.engine.toner.lines import Line
from formulas.engine.toner.zone import Zone

SHORTEST_MINUTES = 3.0
# Parts of clear to one part of mix, as they are weighed at the bowl.
CLEAR_PARTS = (0.25, 0.5, 1.0, 1.5, 2.0, 3.0)


@dataclass(frozen=True)
class Adjusted:
    """A mix used shorter or thinner, and what it then gives.

    Attributes
    ----------
    minutes : float
        Processing time. [min]
    clear_parts : float
        Clear to one part of the mix; 0 for none. [parts]
    reading : Candidate
    """

    minutes: float
    clear_parts: float
    reading: Candidate


def read_mix(
    zone: Zone,
    line: Line,
    parts: Mapping[str, float],
    *,
    minutes: float | None = None,
    chart: Chart | None = None,
    strengths: Mapping[str, float] | None = None,
    share: float = 1.0,
) -> Candidate:
    """Return what a mix gives, by the numbers of `predict` without their ranges.

    Parameters
    ----------
    zone, line, parts, minutes, chart, strengths
        See `predict`.
    share : float
        Of the mix in the bowl, 0 to 1; the rest is clear. [unitless]

    Raises
    ------
    ValueError
        If a name is unknown or a number is out of range.
    """
    checks.number(share, name="share", unit="0..1", low=0, high=1)
    chart = chart or Chart.default()
    bed = prepare(zone, line, minutes=minutes, chart=chart, strengths=strengths)
    named = line.resolved(parts)
    lab = reflectance_to_lab(bed.mixed(share * bed.fractions(named)))
    judge = judge_of(bed, chart)
    return Candidate(
        tuple(sorted((name, part) for name, part in named.items())),  # type: ignore[misc]
        float(judge.warmth_left_percent(lab)),
        float(judge.levels_deeper_measured(lab)),
        float(judge.levels_deeper_looks(lab)),
        float(judge.cast(lab)),
        (float(lab[0]), float(lab[1]), float(lab[2])),
    )


def shorter(
    zone: Zone,
    line: Line,
    parts: Mapping[str, float],
    *,
    aim: float,
    minutes: float | None = None,
    chart: Chart | None = None,
    strengths: Mapping[str, float] | None = None,
) -> Adjusted | None:
    """Return the mix at the whole minute, up to its own time, that comes nearest to an aim.

    `aim` is a warmth left. [%] None where the line's own time is already the best.
    """
    full = line.processing_minutes if minutes is None else minutes
    trials = [
        Adjusted(
            t, 0.0, read_mix(zone, line, parts, minutes=t, chart=chart, strengths=strengths)
        )
        for t in np.arange(min(SHORTEST_MINUTES, full), full + 0.5).tolist()
    ]
    best = min(trials, key=lambda one: (_distance(one, aim), -one.minutes))
    return best if best.minutes < full - 0.5 else None


def thinner(
    zone: Zone,
    line: Line,
    parts: Mapping[str, float],
    *,
    aim: float,
    minutes: float | None = None,
    chart: Chart | None = None,
    strengths: Mapping[str, float] | None = None,
) -> Adjusted | None:
    """Return the mix with the clear that brings it nearest to an aim; None where none helps.

    `aim` is a warmth left. [%]
    """
    full = line.processing_minutes if minutes is None else minutes
    trials = [
        Adjusted(
            full,
            clear,
            read_mix(
                zone, line, parts, minutes=minutes, chart=chart, strengths=strengths,
                share=1.0 / (1.0 + clear),
            ),
        )
        for clear in (0.0, *CLEAR_PARTS)
    ]  # fmt: skip
    best = min(trials, key=lambda one: (_distance(one, aim), one.clear_parts))
    return best if best.clear_parts > 0 else None


def _distance(one: Adjusted, aim: float) -> float:
    return round(abs(one.reading.warmth_left_percent - aim), 6)
