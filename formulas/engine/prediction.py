"""What a mix will give on a zone, with an honest range around every number."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from formulas.engine.appearance import Judge
from formulas.engine.chart import Chart
from formulas.engine.colorimetry import lab_to_hex, reflectance_to_lab
from formulas.engine.deposit import Bed, prepare
from formulas.engine.explain import Sentence, Term, sentences, terms
from formulas.engine.grid import Array
from formulas.engine.hair import Zone
from formulas.engine.kubelka_munk import to_reflectance
from formulas.engine.lines import Line
from formulas.engine.ranged import Ranged
from formulas.engine.wet import wetting_ratio

# What a stylist's reading can be off by, and how far a strength can differ from the line's
# data: half a level is the step in which levels are read; the others are model assumptions.
LEVEL_DOUBT = 0.25
UNDERTONE_DOUBT = 0.25
POROSITY_DOUBT = 0.35
STRENGTH_DOUBT = 0.12


@dataclass(frozen=True, eq=False)
class Prediction:
    """A predicted result; every number with its range (see `Ranged`).

    Attributes
    ----------
    start_lab, start_damp_lab : (3,) float arrays
        The zone before toning.
    dry_lab, damp_lab : Ranged of (3,) float arrays
    level : Ranged
        Level of natural hair that is as dark.
    warmth_left_percent : Ranged
        0 is as neutral as natural hair, below 0 is ash.
    levels_deeper_measured, levels_deeper_looks : Ranged
        By how many levels darker than the start, by L* and as it looks.
    damp_levels_deeper : Ranged
        By how many levels damp hair reads deeper than dry.
    cast : float
        Off-direction tint in units of a*b*; positive greener, negative redder.
    """

    start_lab: Array
    start_damp_lab: Array
    dry_lab: Ranged[Array]
    damp_lab: Ranged[Array]
    level: Ranged[float]
    warmth_left_percent: Ranged[float]
    levels_deeper_measured: Ranged[float]
    levels_deeper_looks: Ranged[float]
    damp_levels_deeper: Ranged[float]
    cast: float
    terms: tuple[Term, ...]
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


def show(ks: Array) -> tuple[Array, Array]:
    """Return (dry, damp) L*a*b* of K/S (..., 31), each (..., 3)."""
    dry = reflectance_to_lab(to_reflectance(ks))
    ratio = wetting_ratio(dry[..., 0])[..., None]
    return dry, reflectance_to_lab(to_reflectance(ks * ratio))


def judge_of(bed: Bed, chart: Chart) -> Judge:
    """Return the judge of a bed: its start is what the client sees before this toning."""
    start, warm = reflectance_to_lab(to_reflectance(np.stack([bed.base_ks, bed.warm_ks])))
    return Judge(start, warm, chart)


def _measure(zone: Zone, line: Line, parts: Mapping[str, float], **how: Any) -> dict[str, Any]:
    """Return every number of one prediction, without ranges."""
    scale = how.pop("scale", 1.0)
    chart = how["chart"]
    bed = prepare(zone, line, **how)
    judge = judge_of(bed, chart)
    deposit = scale * (bed.fractions(parts) @ bed.loads)
    dry, damp = show(bed.base_ks + deposit)
    return {
        "dry_lab": dry,
        "damp_lab": damp,
        "level": float(judge.level(dry)),
        "warmth_left_percent": float(judge.warmth_left_percent(dry)),
        "levels_deeper_measured": float(judge.levels_deeper_measured(dry)),
        "levels_deeper_looks": float(judge.levels_deeper_looks(dry)),
        "damp_levels_deeper": float(judge.level(dry) - judge.level(damp)),
    }


def predict(
    zone: Zone,
    line: Line,
    parts: Mapping[str, float],
    *,
    minutes: float | None = None,
    chart: Chart | None = None,
    strengths: Mapping[str, float] | None = None,
    developer_ratio: float | None = None,
    strength_doubt: float = STRENGTH_DOUBT,
) -> Prediction:
    """Return what `parts` of a line's shades give on a zone.

    Parameters
    ----------
    zone : Zone
    line : Line
    parts : mapping of shade name to parts
        Any positive numbers; only their proportion counts.
    minutes : float, optional
        Processing time; the line's own if left out. [min]
    chart, strengths, developer_ratio : optional
        See `deposit.prepare`.
    strength_doubt : float
        Relative standard doubt of the shades' strength; narrower after learning. [unitless]

    Returns
    -------
    Prediction

    Raises
    ------
    ValueError
        If a name is unknown or a number is out of range.
    """
    chart = chart or Chart.default()
    line = _only_named(line, parts)
    how: dict[str, Any] = {
        "minutes": minutes,
        "chart": chart,
        "strengths": strengths,
        "developer_ratio": developer_ratio,
    }
    middle = _measure(zone, line, parts, **how)
    doubts = [
        [_measure(z, line, parts, **how, scale=scale) for z, scale in pair]
        for pair in _doubts(zone, strength_doubt)
    ]
    bed = prepare(zone, line, **how)
    start, start_damp = show(bed.base_ks)
    judge = judge_of(bed, chart)
    fractions = bed.fractions(parts)
    return Prediction(
        start_lab=start,
        start_damp_lab=start_damp,
        **{
            name: Ranged.from_pairs(value, [[m[name] for m in pair] for pair in doubts])
            for name, value in middle.items()
        },
        cast=float(judge.cast(middle["dry_lab"])),
        terms=terms(bed, fractions, judge),
        sentences=sentences(zone, line, bed, fractions, judge, minutes=minutes),
    )


def _only_named(line: Line, parts: Mapping[str, float]) -> Line:
    """Return the line with only the shades that the mix names: less to compute, same result."""
    used = tuple(line.shade(name) for name in parts)
    return replace(line, shades=used) if used else line


def _doubts(zone: Zone, strength_doubt: float) -> list[list[tuple[Zone, float]]]:
    """Return pairs of zones and deposit scales, one pair per doubtful input."""

    def moved(name: str, step: float, low: float, high: float) -> list[tuple[Zone, float]]:
        value = getattr(zone, name)
        return [
            (replace(zone, **{name: float(np.clip(value + sign * step, low, high))}), 1.0)  # type: ignore[arg-type]
            for sign in (-1, 1)
        ]

    return [
        moved("lifted_level", LEVEL_DOUBT, 1.0, 10.0),
        moved("undertone", UNDERTONE_DOUBT, -1.0, 1.0),
        moved("porosity", POROSITY_DOUBT, -1.0, 1.0),
        [(zone, 1.0 - strength_doubt), (zone, 1.0 + strength_doubt)],
    ]
