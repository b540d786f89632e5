"""What a mix will give on a zone, with an honest range around every number."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from formulas.engine.hair.appearance import Judge
from formulas.engine.hair.chart import Chart
from formulas.engine.light.colorimetry import lab_to_hex, reflectance_to_lab
from formulas.engine.light.grid import Array
from formulas.engine.light.kubelka_munk import to_reflectance
from formulas.engine.light.wet import wetting_ratio
from formulas.engine.prediction.doubts import (
    MODEL_LEVELS,
    MODEL_WARMTH,
    Case,
    Doubts,
    doubtful_pairs,
)
from formulas.engine.prediction.explain import Sentence, sentences
from formulas.engine.prediction.ranged import Ranged
from formulas.engine.prediction.terms import Term, residual_term, terms
from formulas.engine.toner.deposit import Bed, prepare
from formulas.engine.toner.lines import Line
from formulas.engine.toner.zone import Zone


@dataclass(frozen=True, eq=False)
class Prediction:
    """A predicted result; every predicted number with its range (see `Ranged`).

    Attributes
    ----------
    start_lab, start_damp_lab : (3,) float arrays
        The zone as read, before toning, L*a*b* (D65, 10 degrees).
    start_warmth_percent : float
        Its warmth: 100, or less where toner is still present or hardly any warmth shows.
    dry_lab, damp_lab : Ranged of (3,) float arrays
        After toning.
    level : Ranged
        Level of natural hair that is as dark.
    warmth_left_percent : Ranged
        100 is the hair without any toner, 0 is as neutral as natural hair, below 0 is ash.
    levels_deeper_measured, levels_deeper_looks : Ranged
        By how many levels darker than the start, by L* and as it looks.
    damp_levels_deeper : Ranged
        By how many levels damp hair reads deeper than dry.
    cast : float
        Off-direction tint in units of a*b*; positive greener, negative redder.
    terms : tuple of Term
        What moved warmth and depth how far; they add up to the whole change.
    residual_term : Term or None
        What toner from the last visit had done before; not part of that sum.
    sentences : tuple of Sentence
    """

    start_lab: Array
    start_damp_lab: Array
    start_warmth_percent: float
    dry_lab: Ranged[Array]
    damp_lab: Ranged[Array]
    level: Ranged[float]
    warmth_left_percent: Ranged[float]
    levels_deeper_measured: Ranged[float]
    levels_deeper_looks: Ranged[float]
    damp_levels_deeper: Ranged[float]
    cast: float
    terms: tuple[Term, ...]
    residual_term: Term | None
    sentences: tuple[Sentence, ...]

    @cached_property
    def start_hex(self) -> str:
        """Screen colour of the dry start."""
        return lab_to_hex(self.start_lab)

    @cached_property
    def start_damp_hex(self) -> str:
        """Screen colour of the damp start."""
        return lab_to_hex(self.start_damp_lab)

    @cached_property
    def dry_hex(self) -> str:
        """Screen colour of the dry result."""
        return lab_to_hex(self.dry_lab.value)

    @cached_property
    def damp_hex(self) -> str:
        """Screen colour of the damp result."""
        return lab_to_hex(self.damp_lab.value)


def show(ks: Array, *, wetting: float = 1.0) -> tuple[Array, Array]:
    """Return (dry, damp) L*a*b* of K/S (..., 31), each (..., 3).

    `wetting` is a factor on the wetting ratio, which is never less than 1.
    """
    dry = reflectance_to_lab(to_reflectance(ks))
    ratio = np.maximum(wetting * wetting_ratio(dry[..., 0]), 1.0)[..., None]
    return dry, reflectance_to_lab(to_reflectance(ks * ratio))


def judge_of(bed: Bed, chart: Chart) -> Judge:
    """Return the judge of a bed: its start is what the client sees before this toning."""
    ks = np.stack([bed.base_ks, bed.warm_ks, bed.hair_ks])
    start, warm, bare = reflectance_to_lab(to_reflectance(ks))
    return Judge(start, warm, chart, bare)


def predict(
    zone: Zone,
    line: Line,
    parts: Mapping[str, float],
    *,
    minutes: float | None = None,
    chart: Chart | None = None,
    strengths: Mapping[str, float] | None = None,
    developer_ratio: float | None = None,
    doubts: Doubts | None = None,
) -> Prediction:
    """Return what `parts` of a line's shades give on a zone.

    Parameters
    ----------
    zone : Zone
    line : Line
    parts : mapping of shade name to parts
        Any positive numbers; only their proportion counts.
    minutes : float, optional
        Processing time, 0 to 180; the line's own if left out. [min]
    chart, strengths, developer_ratio : optional
        See `deposit.prepare`.
    doubts : Doubts, optional
        What is not known of the line here; narrower after learning.

    Returns
    -------
    Prediction

    Raises
    ------
    ValueError
        If a name is unknown or a number is out of range.
    """
    known = doubts or Doubts()
    chart = chart or Chart.default()
    named = line.resolved(parts)
    # Only the shades that the mix names: less to compute, same result.
    used = replace(line, shades=tuple(line.shade(name) for name in named))
    how: dict[str, Any] = {
        "minutes": minutes,
        "chart": chart,
        "strengths": strengths,
        "developer_ratio": developer_ratio,
    }
    bed = prepare(zone, used, **how)
    judge, fractions = judge_of(bed, chart), bed.fractions(named)
    middle = _measure(bed, judge, fractions, Case(zone))
    changes = []
    for pair in doubtful_pairs(zone, used, known):
        moved = []
        for case in pair:
            other = bed if case.zone == zone else prepare(case.zone, used, **how)
            moved.append(_measure(other, judge_of(other, chart), fractions, case))
        changes.append(moved)
    start, start_damp = show(bed.base_ks)
    more = _model_doubts(judge, known)
    return Prediction(
        start_lab=start,
        start_damp_lab=start_damp,
        start_warmth_percent=float(judge.warmth_left_percent(start)),
        **{
            name: Ranged.from_pairs(
                value,
                [[m[name] for m in pair] for pair in changes],
                more=more[name][0],
                factor=more[name][1],
            )
            for name, value in middle.items()
        },
        cast=float(judge.cast(middle["dry_lab"])),
        terms=terms(bed, fractions, judge),
        residual_term=residual_term(bed, judge),
        sentences=sentences(
            zone,
            used,
            bed,
            fractions,
            judge,
            minutes=minutes,
            damp_levels=middle["damp_levels_deeper"],
        ),
    )


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


def _measure(bed: Bed, judge: Judge, fractions: Array, case: Case) -> dict[str, Any]:
    """Return every number of one prediction, without ranges."""
    moved = np.array([case.shades.get(name, 1.0) for name in bed.names])
    deposit = case.deposit * ((fractions * moved) @ bed.loads)
    dry, damp = show(bed.base_ks + deposit, wetting=case.wetting)
    return {
        "dry_lab": dry,
        "damp_lab": damp,
        "level": float(judge.level(dry)),
        "warmth_left_percent": float(judge.warmth_left_percent(dry)),
        "levels_deeper_measured": float(judge.levels_deeper_measured(dry)),
        "levels_deeper_looks": float(judge.levels_deeper_looks(dry)),
        "damp_levels_deeper": float(judge.level(dry) - judge.level(damp)),
    }
