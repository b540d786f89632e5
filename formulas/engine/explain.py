"""Why a prediction is what it is: terms that add up, and plain sentences."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from formulas.engine.appearance import Judge
from formulas.engine.colorimetry import reflectance_to_lab
from formulas.engine.deposit import Bed
from formulas.engine.grid import Array
from formulas.engine.hair import Zone
from formulas.engine.kubelka_munk import to_reflectance
from formulas.engine.lines import Line

_STEPS = 24
_NEUTRAL_ENOUGH_PERCENT = 20.0


@dataclass(frozen=True)
class Term:
    """How far one part of the deposit moved the result.

    Attributes
    ----------
    shade : str
        Name of the shade.
    part : str
        "neutral" or "tone".
    warmth_percent : float
        Change of the warmth left; negative takes warmth out. [%]
    levels_deeper : float
        Change of the depth as it looks. [levels]
    """

    shade: str
    part: str
    warmth_percent: float
    levels_deeper: float


@dataclass(frozen=True)
class Sentence:
    """A plain sentence for the screen; `code` and `values` let an app translate it."""

    code: str
    text: str
    values: Mapping[str, float | str] = field(default_factory=dict)


def terms(bed: Bed, fractions: Array, judge: Judge) -> tuple[Term, ...]:
    """Return what each load did; the terms add up to the whole change.

    Each load's share is the integral of its own pull along the straight way from no deposit
    to all of it, so that no order of the shades is preferred.

    Parameters
    ----------
    bed : Bed
    fractions : (n,) float array
        Weight fractions.
    judge : Judge

    References
    ----------
    .. [1] Aumann & Shapley 1974, Values of Non-Atomic Games (from memory).
    """
    labels: list[tuple[str, str]] = []
    loads: list[Array] = []
    for i in np.flatnonzero(fractions):
        for part, table in (("neutral", bed.neutral_loads), ("tone", bed.tone_loads)):
            load = fractions[i] * table[i]
            if load.any():
                labels.append((bed.names[i], part))
                loads.append(load)
    if not loads:
        return ()
    stack = np.stack(loads)
    whole = stack.sum(axis=0)
    places = (np.arange(_STEPS) + 0.5) / _STEPS
    half = 0.5 / _STEPS
    shares = np.zeros((len(loads), 2))
    for place in places:
        here = bed.base_ks + place * whole
        ends = [
            _read(
                judge,
                here + np.stack([np.zeros_like(load) + sign * half * load for load in stack]),
            )
            for sign in (-1, 1)
        ]
        shares += ends[1] - ends[0]
    change = _read(judge, bed.base_ks + whole) - _read(judge, bed.base_ks)
    total = shares.sum(axis=0)
    shares += (change - total) / len(loads)  # what the finite steps left over
    return tuple(
        Term(name, part, float(warmth), float(levels))
        for (name, part), (warmth, levels) in zip(labels, shares, strict=True)
    )


def _read(judge: Judge, ks: Array) -> Array:
    lab = reflectance_to_lab(to_reflectance(ks))
    return np.stack([judge.warmth_left_percent(lab), judge.levels_deeper_looks(lab)], axis=-1)


def pigment_carried(bed: Bed, fractions: Array, judge: Judge) -> float | None:
    """Return the deposit as a share of what would bring the warmth down to a fifth.

    1 or more: it carries enough. None: no amount of this mix gets there.
    """
    deposit = fractions @ bed.loads
    scales = np.geomspace(0.05, 40.0, 400)
    warmth = _read(judge, bed.base_ks + scales[:, None] * deposit)[:, 0]
    enough = np.flatnonzero(warmth <= _NEUTRAL_ENOUGH_PERCENT)
    return float(1.0 / scales[enough[0]]) if len(enough) else None


def sentences(
    zone: Zone,
    line: Line,
    bed: Bed,
    fractions: Array,
    judge: Judge,
    *,
    minutes: float | None,
) -> tuple[Sentence, ...]:
    """Return plain sentences about a mix on a zone, the most telling first."""
    said = list(_about_depth(zone, line, bed, fractions, judge))
    if float(judge.warmth_left_percent(judge.start_lab)) < 99.0:
        text = "This hair shows hardly any warmth; percentages are of a small amount."
        said.append(Sentence("little_warmth", text))
    warmth, deeper = (float(v) for v in _read(judge, bed.mixture_ks(fractions)))
    if warmth < -10:
        said.append(
            Sentence(
                "ash", "It goes past neutral: the result will look ash.", {"warmth": warmth}
            )
        )
    lab = reflectance_to_lab(to_reflectance(bed.mixture_ks(fractions)))
    cast = float(judge.cast(lab))
    if cast > 5:
        said.append(Sentence("green_cast", "It leans towards green.", {"cast": cast}))
    elif cast < -5:
        said.append(Sentence("red_cast", "It leans towards red-violet.", {"cast": cast}))
    if bed.residual_ks.max() > 0.02 * bed.hair_ks.max():
        said.append(
            Sentence(
                "build_up",
                "Toner from the last visit is still there; this one builds up on it.",
                {"deeper": deeper},
            )
        )
    if minutes is not None and minutes < 0.75 * line.processing_minutes:
        said.append(
            Sentence(
                "short_time",
                f"Rinsed before the line's {line.processing_minutes:g} minutes it takes less.",
                {"minutes": line.processing_minutes},
            )
        )
    if zone.porosity >= 0.5:
        said.append(
            Sentence(
                "porous", "Porous hair takes toner faster and deeper, and loses it sooner."
            )
        )
    return tuple(said)


def _about_depth(
    zone: Zone, line: Line, bed: Bed, fractions: Array, judge: Judge
) -> list[Sentence]:
    levels = [
        (shade.level, share)
        for shade, share in zip(line.shades, fractions, strict=True)
        if shade.level is not None and share > 0
    ]
    if not levels:
        return [Sentence("clear_only", "Clear alone adds shine and takes out no warmth.")]
    mean = sum(level * share for level, share in levels) / sum(share for _, share in levels)
    carried = pigment_carried(bed, fractions, judge)
    if carried is None:
        text = "This mix does not oppose the warmth, however much of it is laid on."
        return [Sentence("no_opposite", text)]
    if carried >= 1:
        text = "It carries the pigment that this warmth needs."
        return [Sentence("enough", text, {"share": carried})]
    share = _share_in_words(carried)
    if mean > zone.lifted_level:
        text = f"Lighter than the lifted level: it carries {share} of the pigment needed."
        return [Sentence("lighter_than_lifted", text, {"share": carried})]
    text = f"It carries {share} of the pigment needed to take the warmth out."
    return [Sentence("partly", text, {"share": carried})]


def _share_in_words(share: float) -> str:
    words = [
        (0.15, "about a tenth"),
        (0.29, "about a quarter"),
        (0.42, "about a third"),
        (0.58, "about half"),
        (0.8, "about two thirds"),
    ]
    return next((text for limit, text in words if share < limit), "nearly all")
