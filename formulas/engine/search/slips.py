"""How far a mix moves when the work at the bench is a little off."""

from dataclasses import replace
from typing import Any

import numpy as np

from formulas.engine.light.colorimetry import reflectance_to_lab
from formulas.engine.light.grid import Array
from formulas.engine.prediction.candidates import Readings
from formulas.engine.prediction.numbers import Setting, judge_of, used_shades
from formulas.engine.search.search import SearchResult
from formulas.engine.search.weighing import weighed
from formulas.engine.toner.lines import Line
from formulas.engine.toner.zone import Zone

SLIP_GRAMS = 0.5
SLIP_MINUTES = 5.0
SLIP_LEVELS = 0.25


class Slips:
    """How far mixes of a search move when the work is a little off."""

    def __init__(self, zone: Zone, result: SearchResult, line: Line, setting: Setting) -> None:
        used = used_shades(line, result.bed.names)
        own = line.processing_minutes if setting.minutes is None else setting.minutes
        self._result = result
        self._longer = replace(setting, minutes=min(own + SLIP_MINUTES, 180.0)).bed(zone, used)
        self._misread = []
        for step in (-SLIP_LEVELS, SLIP_LEVELS):
            level = float(np.clip(zone.lifted_level + step, 1.0, 10.0))
            bed = setting.bed(replace(zone, lifted_level=level), used)
            self._misread.append((bed, judge_of(bed, setting.on_chart)))

    def of(self, fractions: Array, readings: Readings | None = None) -> Array:
        """Return the slip of each mix (n,), all three together; 1 is what an eye lets pass.

        `readings` are those of the mixes as they should be, where they are known.
        """
        result = self._result
        judge, bed = result.judge, result.bed

        def read(other: Any, mixes: Array, by: Any) -> tuple[Array, Array]:
            lab = reflectance_to_lab(other.mixed(mixes))
            return by.warmth_left_percent(lab), by.levels_deeper_looks(lab)

        if readings:
            warmth, looks = readings.warmth, readings.looks
        else:
            warmth, looks = read(bed, fractions, judge)
        shade, mix = np.nonzero(fractions.T > 0)
        more = fractions[mix]
        more[np.arange(len(mix)), shade] += SLIP_GRAMS / result.colour_grams
        w, d = read(bed, more / more.sum(axis=1, keepdims=True), judge)
        over = np.zeros(len(fractions))
        np.maximum.at(over, mix, _moved(w - warmth[mix], d - looks[mix]))
        squares = over**2
        w, d = read(self._longer, fractions, judge)
        squares += _moved(w - warmth, d - looks) ** 2
        misread = np.zeros(len(fractions))
        for other, by in self._misread:
            w, d = read(other, fractions, by)
            misread = np.maximum(misread, _moved(w - warmth, d - looks))
        return np.asarray(np.sqrt(squares + misread**2))


def _moved(warmth: Array, levels: Array) -> Array:
    return weighed(warmth, np.abs(levels))
