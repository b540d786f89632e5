"""What mixes give on a zone, in numbers with their ranges: many mixes at once, or one."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from itertools import chain
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from formulas.engine.hair.appearance import Judge
from formulas.engine.hair.chart import Chart
from formulas.engine.light.colorimetry import reflectance_to_lab
from formulas.engine.light.grid import Array
from formulas.engine.light.kubelka_munk import to_reflectance
from formulas.engine.prediction.doubts import (
    MODEL_LEVELS,
    MODEL_WARMTH,
    Case,
    Doubts,
    doubtful_pairs,
)
from formulas.engine.prediction.ranged import Ranged
from formulas.engine.toner.deposit import Bed, prepare
from formulas.engine.toner.lines import Line
from formulas.engine.toner.zone import Zone


@dataclass(frozen=True, eq=False)
class Numbers:
    """Predicted numbers of n mixes, each with its range; see `Prediction`.

    Attributes
    ----------
    dry_lab, damp_lab : Ranged of (n, 3) float arrays
    level, warmth_left_percent, levels_deeper_measured, levels_deeper_looks,
    damp_levels_deeper : Ranged of (n,) float arrays
    """

    dry_lab: Ranged[Array]
    damp_lab: Ranged[Array]
    level: Ranged[Array]
    warmth_left_percent: Ranged[Array]
    levels_deeper_measured: Ranged[Array]
    levels_deeper_looks: Ranged[Array]
    damp_levels_deeper: Ranged[Array]

    def of(self, mix: int) -> dict[str, Ranged[Any]]:
        """Return the numbers of one mix by name."""
        return {field.name: getattr(self, field.name).at(mix) for field in fields(self)}


@dataclass(frozen=True)
class Setting:
    """What a line is used with, beside the zone; see `deposit.prepare`.

    Attributes
    ----------
    minutes, developer_ratio : float or None
    chart : Chart or None
    strengths : mapping of shade name to factor, or None
    """

    minutes: float | None = None
    chart: Chart | None = None
    strengths: Mapping[str, float] | None = None
    developer_ratio: float | None = None

    @property
    def on_chart(self) -> Chart:
        """The chart, or the default one."""
        return self.chart or Chart.default()

    def bed(self, zone: Zone, line: Line) -> Bed:
        """Return the bed of a zone and a line in this setting."""
        return prepare(zone, line, **{**vars(self), "chart": self.on_chart})


def numbers(
    zone: Zone, line: Line, fractions: Array, *, setting: Setting, doubts: Doubts | None = None
) -> Numbers:
    """Return what mixes give on a zone.

    Parameters
    ----------
    zone : Zone
    line : Line
        Only the shades that the mixes use: each is moved by its own doubt.
    fractions : (n, shades) float array
        Weight fractions, in the line's order.
    setting : Setting
    doubts : Doubts, optional

    Raises
    ------
    ValueError
        If a number is out of range.
    """
    known = doubts or Doubts()
    bed = setting.bed(zone, line)
    judge = judge_of(bed, setting.on_chart)
    cases = [Case(zone), *chain.from_iterable(doubtful_pairs(zone, line, known))]
    # Most cases are of the zone as read: those are measured together.
    here = [n for n, case in enumerate(cases) if case.zone == zone]
    together = _measured(bed, judge, fractions, [cases[n] for n in here])
    measured = dict(zip(here, together, strict=True))
    for n, case in enumerate(cases):
        if n not in measured:
            other = setting.bed(case.zone, line)
            by = judge_of(other, setting.on_chart)
            (measured[n],) = _measured(other, by, fractions, [case])
    more = _model_doubts(judge, known)
    return Numbers(
        **{
            name: Ranged.from_pairs(
                value,
                [[measured[n][name] for n in (k, k + 1)] for k in range(1, len(cases), 2)],
                more=more[name][0],
                factor=more[name][1],
            )
            for name, value in measured[0].items()
        }
    )


def used_shades(line: Line, names: Any) -> Line:
    """Return the line with only the shades named, in that order."""
    return replace(line, shades=tuple(line.shade(name) for name in names))


def show(
    bed: Bed, deposit: ArrayLike = 0.0, *, wetting: ArrayLike = 1.0
) -> tuple[Array, Array]:
    """Return (dry, damp) L*a*b*, each (..., 3), after a deposit of K/S (..., 31).

    `wetting` (...) is a factor on the wetting ratio.
    """
    dry = reflectance_to_lab(bed.reflectance(deposit))
    return dry, reflectance_to_lab(bed.damp(deposit, wetting=wetting))


def judge_of(bed: Bed, chart: Chart) -> Judge:
    """Return the judge of a bed: its start is what the client sees before this toning."""
    seen = [bed.reflectance(), to_reflectance(bed.warm_ks), bed.hair_reflectance()]
    start, warm, bare = reflectance_to_lab(np.stack(seen))
    return Judge(start, warm, chart, bare)


def _model_doubts(judge: Judge, known: Doubts) -> dict[str, tuple[Any, float]]:
    """Return the model's own standard doubt of every number, and the factor on its range."""
    depth, warmth = known.depth_factor, known.warmth_factor
    colour = np.array([MODEL_LEVELS * judge.lightness_of_a_level, 0.0, 0.0])
    colour[1:] = MODEL_WARMTH / 100.0 * judge.starting_warmth / np.sqrt(2.0)
    return {
        "dry_lab": (colour, max(depth, warmth)),
        "damp_lab": (colour, max(depth, warmth)),
        "level": (MODEL_LEVELS, depth),
        "warmth_left_percent": (MODEL_WARMTH, warmth),
        "levels_deeper_measured": (MODEL_LEVELS, depth),
        "levels_deeper_looks": (MODEL_LEVELS, depth),
        "damp_levels_deeper": (0.0, depth),
    }


def _measured(
    bed: Bed, judge: Judge, fractions: Array, cases: Sequence[Case]
) -> list[dict[str, Array]]:
    """Return every number of the mixes in each case, without ranges."""
    moved = [np.array([case.shades.get(name, 1.0) for name in bed.names]) for case in cases]
    deposit = np.stack(
        [
            case.deposit * ((fractions * strengths) @ bed.loads)
            for case, strengths in zip(cases, moved, strict=True)
        ]
    )
    wetting = np.array([case.wetting for case in cases])[:, None]
    dry, damp = show(bed, deposit, wetting=wetting)
    found = {
        "dry_lab": dry,
        "damp_lab": damp,
        "level": judge.level(dry),
        "warmth_left_percent": judge.warmth_left_percent(dry),
        "levels_deeper_measured": judge.levels_deeper_measured(dry),
        "levels_deeper_looks": judge.levels_deeper_looks(dry),
        "damp_levels_deeper": judge.level(dry) - judge.level(damp),
    }
    return [{name: values[n] for name, values in found.items()} for n in range(len(cases))]
