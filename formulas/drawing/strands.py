"""Colours of hair, for the strands that a reading is compared with."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import TypedDict

import numpy as np
from django.utils.translation import gettext as _

from formulas.engine import Chart, Zone
from formulas.engine.light.colorimetry import (
    delta_e_2000,
    hex_to_lab,
    lab_to_hex,
    reflectance_to_lab,
)
from formulas.engine.light.grid import Array
from formulas.engine.light.kubelka_munk import to_reflectance
from formulas.snapshots import Prediction, ReadIn

HALF_LEVELS = [n / 2 for n in range(2, 21)]
UNDERTONES = [-1.0, -0.5, 0.0, 0.5, 1.0]
# Neighbours nearer than this (CIEDE2000) pass for one colour when held beside hair: common
# practice puts a difference that is just noticed at about 1, in patches that touch.
LEAST_APART = 2.0


class UndertoneStrands(TypedDict):
    """The undertones from more orange to more golden, and their colours by level.

    `apart` says by level which of them an eye can tell from its neighbours.
    """

    undertones: list[float]
    levels: dict[str, list[str]]
    apart: dict[str, list[bool]]


@lru_cache(maxsize=8)
def undertone_strands(chart: Chart) -> UndertoneStrands:
    """Return, for each level in half steps, the colours from more orange to more golden."""
    ks = np.stack(
        [chart.warmth_ks(level, undertone) for level in HALF_LEVELS for undertone in UNDERTONES]
    )
    labs = reflectance_to_lab(to_reflectance(ks)).reshape(len(HALF_LEVELS), len(UNDERTONES), 3)
    levels = {
        f"{level:.1f}": [lab_to_hex(lab) for lab in row]
        for level, row in zip(HALF_LEVELS, labs, strict=True)
    }
    apart = {level: _apart(colours) for level, colours in levels.items()}
    return {"undertones": UNDERTONES, "levels": levels, "apart": apart}


def _apart(colours: list[str]) -> list[bool]:
    """Return which of five strands are offered: ends and middle always, those between them
    where they differ from both. Very light hair has no two kinds of golden.
    """
    near = [distance >= LEAST_APART for distance in distances(colours)]
    return [True, bool(near[0] and near[1]), True, bool(near[2] and near[3]), True]


def distances(colours: Sequence[str]) -> list[float]:
    """Return how far each drawn colour is from the next (CIEDE2000)."""
    labs = [hex_to_lab(colour) for colour in colours]
    return [float(delta_e_2000(one, other)) for one, other in pairwise(labs)]


def hair_hex(
    chart: Chart, *, lifted_level: float, undertone: float, white_percent: float
) -> str:
    """Return the colour of hair as it was read, on screen."""
    hair = Zone(lifted_level=lifted_level, undertone=undertone, white_percent=white_percent)
    return lab_to_hex(reflectance_to_lab(hair.reflectance(chart)))


@dataclass(frozen=True)
class ComparedStrand:
    """A strand to hold the hair against: `step` is how far it is from the predicted one."""

    step: float
    hex: str
    label: str


# From one strand to the next: as little as an eye can tell, of these. Levels, points of warmth.
DEPTH_STEPS = (0.5, 1.0)
WARMTH_STEPS = (15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0)
# Hair that shows little warmth: what the widest step is drawn as, in a*b*.
LEAST_CHROMA = 5.6


def seen_hex(chart: Chart, predicted: Prediction, *, deeper: float, warmer: float) -> str:
    """Return the colour of the strand that a look beside the predicted one means."""
    lab = hex_to_lab(str(predicted["dry_hex"]))
    level = float(predicted["level"]["value"])
    shift = _lightness(chart, level - deeper) - _lightness(chart, level)
    return lab_to_hex(lab + np.array([shift, *(warmer * _per_point(chart, predicted))]))


def _per_point(chart: Chart, predicted: Prediction) -> Array:
    """Return what one point of warmth is in a*b* on this hair.

    On hair with next to no warmth, such as white hair, it is at least what an eye needs, in the
    hue of lifted hair as light.
    """
    start, natural = hex_to_lab(str(predicted["start_hex"])), chart.natural_lab
    point = (start[1:] - _at_lightness(natural, start[0])) / 100.0
    least = LEAST_CHROMA / WARMTH_STEPS[-1]
    length = float(np.linalg.norm(point))
    if length >= least:
        return np.asarray(point)
    warm = _at_lightness(chart.warmth_lab, start[0]) - _at_lightness(natural, start[0])
    return np.asarray(warm * least / np.linalg.norm(warm))


def _at_lightness(labs: Array, lightness: float) -> Array:
    """Return a*, b* of a row of colours where it is as light."""
    return np.array([np.interp(lightness, labs[:, 0], labs[:, k]) for k in (1, 2)])


def read_in(chart: Chart, predicted: Prediction) -> ReadIn:
    """Return the steps of depth and warmth in which an eye can read this hair."""

    def finest(of: Sequence[float], drawn: Callable[[float], str]) -> float:
        """Return the first step whose strands can be told apart, or the widest."""
        for step in of:
            if min(distances([drawn(k * step) for k in (-2, -1, 0, 1, 2)])) >= LEAST_APART:
                return step
        return of[-1]

    return {
        "depth": finest(
            DEPTH_STEPS, lambda step: seen_hex(chart, predicted, deeper=step, warmer=0.0)
        ),
        "warmth": finest(
            WARMTH_STEPS, lambda step: seen_hex(chart, predicted, deeper=0.0, warmer=step)
        ),
    }


def depth_strands(chart: Chart, predicted: Prediction) -> list[ComparedStrand]:
    """Return strands from lighter to deeper, the predicted one in the middle."""
    step = read_in(chart, predicted)["depth"]
    near = (_("half a level lighter"), _("half a level deeper"))
    whole = (_("1 level lighter"), _("1 level deeper"))
    two = (_("2 levels lighter"), _("2 levels deeper"))
    inner, outer = (near, whole) if step == DEPTH_STEPS[0] else (whole, two)
    words = (outer[0], inner[0], _("as predicted"), inner[1], outer[1])
    return [
        ComparedStrand(k * step, seen_hex(chart, predicted, deeper=k * step, warmer=0.0), label)
        for k, label in zip((-2, -1, 0, 1, 2), words, strict=True)
    ]


def warmth_strands(chart: Chart, predicted: Prediction) -> list[ComparedStrand]:
    """Return strands from warmer to cooler, the predicted one in the middle."""
    words = (
        _("much warmer"),
        _("warmer"),
        _("as predicted"),
        _("cooler"),
        _("much cooler"),
    )
    points = read_in(chart, predicted)["warmth"]
    return [
        ComparedStrand(
            k * points, seen_hex(chart, predicted, deeper=0.0, warmer=k * points), label
        )
        for k, label in zip((2, 1, 0, -1, -2), words, strict=True)
    ]


def _lightness(chart: Chart, level: float) -> float:
    """Return L* of a level; past the ends of the scale it goes on as steeply as before them."""
    inside = min(max(level, 1.0), 10.0)
    within = float(chart.natural_lab_at(inside)[0])
    if inside == level:
        return within
    inner = float(chart.natural_lab_at(inside + (0.5 if level < inside else -0.5))[0])
    return within + (within - inner) * abs(level - inside) / 0.5
