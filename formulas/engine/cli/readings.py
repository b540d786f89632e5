"""What shades in words give on hair, read as the facts of the trade ask."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from formulas.engine.hair.chart import Chart
from formulas.engine.light.colorimetry import reflectance_to_lab
from formulas.engine.light.grid import Array
from formulas.engine.light.kubelka_munk import to_reflectance
from formulas.engine.prediction.numbers import judge_of, show
from formulas.engine.toner.deposit import prepare
from formulas.engine.toner.lines import Line, with_background
from formulas.engine.toner.pigments import band
from formulas.engine.toner.shades import Shade, white_hair_ks
from formulas.engine.toner.uptake import uptake
from formulas.engine.toner.zone import Zone

BACKGROUND = "soft violet-blue"
Value = Callable[[Chart, str], float]


@dataclass(frozen=True)
class Reading:
    """What one mix leaves on one base; levels deeper by how it looks."""

    warmth: float
    deeper: float
    level: float
    turned_to_orange: float
    damp: float


def reading(
    chart: Chart,
    kind: str,
    level: float,
    words: Mapping[str, float],
    *,
    minutes: float | None = None,
    **zone: Any,
) -> Reading:
    """Return the reading of shades in words, by parts, on a zone."""
    shades = with_background((Shade.from_words(name) for name in words), BACKGROUND)
    line = Line("words", kind, shades)
    bed = prepare(Zone(level, **zone), line, chart=chart, minutes=minutes)
    judge = judge_of(bed, chart)
    dry, damp = show(bed, bed.fractions(words) @ bed.loads)
    return Reading(
        float(judge.warmth_left_percent(dry)),
        float(judge.levels_deeper_looks(dry)),
        float(judge.level(dry)),
        _hue(judge.start_lab) - _hue(dry),
        float(judge.level(dry) - judge.level(damp)),
    )


def _hue(lab: Array) -> float:
    return float(np.degrees(np.arctan2(lab[2], lab[1])))


def own_level(words: str, chart: Chart, _kind: str) -> float:
    """Return by how many levels a shade on white hair misses its own level."""
    shade = Shade.from_words(words)
    lab = reflectance_to_lab(to_reflectance(white_hair_ks() + shade.load(chart)))
    levels = np.interp(lab[0], chart.natural_lab[:, 0], np.linspace(1, 10, 19))
    return float(levels) - float(shade.level or 0.0)


def quantity(name: str, level: float, words: Mapping[str, float] | str, **how: float) -> Value:
    mix = {words: 1.0} if isinstance(words, str) else dict(words)

    def value(chart: Chart, kind: str) -> float:
        return float(getattr(reading(chart, kind, level, mix, **how), name))

    return value


def less_warmth(level: float, better: str, other: str) -> Value:
    """Return the warmth that one tone leaves less that of another."""

    def value(chart: Chart, kind: str) -> float:
        left = [reading(chart, kind, level, {w: 1.0}).warmth for w in (better, other)]
        return left[0] - left[1]

    return value


def opposes(family: str, others: tuple[str, ...], of: str, dose: float) -> Value:
    """Return how much nearer to natural hair a family brings a tint than the best of others.

    On white hair with some neutral and a tint of family `of`; each is laid on as far as helps.
    """

    def value(chart: Chart, _kind: str) -> float:
        grey = np.maximum(chart.natural_ks(7) - white_hair_ks(), 0.0)
        tinted = white_hair_ks() + 0.3 * grey + dose * band(of)
        left = [_least_tint(chart, tinted, band(name)) for name in (family, *others)]
        return left[0] - min(left[1:])

    return value


def _least_tint(chart: Chart, ks: Array, load: Array) -> float:
    lab = reflectance_to_lab(to_reflectance(ks + np.linspace(0.0, 4.0, 161)[:, None] * load))
    natural = np.stack(
        [np.interp(lab[:, 0], chart.natural_lab[:, 0], chart.natural_lab[:, k]) for k in (1, 2)]
    )
    return float(np.hypot(*(lab[:, 1:].T - natural)).min())


def minute_uptake(_chart: Chart, kind: str) -> float:
    """Return the uptake of one minute as a share of that of twenty. [%]"""
    line = Line("words", kind, (Shade.from_words("8 natural"),))
    return 100.0 * uptake(1.0, line=line) / uptake(20.0, line=line)


def minute_warmth(chart: Chart, kind: str) -> float:
    """Return the warmth that one minute takes out as a share of what twenty do. [%]"""
    one, twenty = (
        reading(chart, kind, 8, {"8 violet-blue": 1.0}, minutes=minutes).warmth
        for minutes in (1.0, 20.0)
    )
    return 100.0 * (100.0 - one) / (100.0 - twenty)
