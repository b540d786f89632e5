"""What a mix will give on a zone, with an honest range around every number."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from formulas.engine.hair.chart import Chart
from formulas.engine.light.colorimetry import lab_to_hex
from formulas.engine.light.grid import Array
from formulas.engine.prediction.doubts import Doubts
from formulas.engine.prediction.explain import Sentence, sentences
from formulas.engine.prediction.numbers import Setting, judge_of, numbers, show, used_shades
from formulas.engine.prediction.ranged import Ranged
from formulas.engine.prediction.terms import Term, residual_term, terms
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
    shows_little_warmth : bool
        Whether percentages say little of this hair: then its warmth is described in words.
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
    shows_little_warmth: bool
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
    named = line.resolved(parts)
    # Only the shades that the mix names: less to compute, same result.
    used = used_shades(line, named)
    setting = Setting(minutes, chart, strengths, developer_ratio)
    bed = setting.bed(zone, used)
    judge, fractions = judge_of(bed, setting.on_chart), bed.fractions(named)
    found = numbers(zone, used, fractions[None], setting=setting, doubts=doubts).of(0)
    start, start_damp = show(bed)
    return Prediction(
        start_lab=start,
        start_damp_lab=start_damp,
        start_warmth_percent=float(judge.warmth_left_percent(start)),
        **found,
        shows_little_warmth=judge.has_little_warmth,
        cast=float(judge.cast(found["dry_lab"].value)),
        terms=terms(bed, fractions, judge),
        residual_term=residual_term(bed, judge),
        sentences=sentences(
            zone,
            used,
            bed,
            fractions,
            judge,
            minutes=minutes,
            damp_levels=found["damp_levels_deeper"].value,
        ),
    )
