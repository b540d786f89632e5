"""Colours of hair as read, for the strands that a reading is compared with."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import TypedDict

import numpy as np
from django.utils.translation import gettext as _

from consult.agreement.statement import half_level
from consult.models import ZoneReading
from consult.zones import Zone
from formulas.engine import Chart
from formulas.engine import Zone as Hair
from formulas.engine.light.colorimetry import hex_to_lab, lab_to_hex, reflectance_to_lab
from formulas.engine.light.grid import Array
from formulas.engine.light.kubelka_munk import to_reflectance
from formulas.snapshots import Prediction

LEVELS = [n / 2 for n in range(2, 21)]
UNDERTONES = [-1.0, -0.5, 0.0, 0.5, 1.0]


class UndertoneStrands(TypedDict):
    """The undertones from more orange to more golden, and their colours by level."""

    undertones: list[float]
    levels: dict[str, list[str]]


class ZoneStrand(TypedDict):
    """A zone as the head is drawn; without a colour it is not read yet."""

    zone: str
    hex: str
    note: str


@lru_cache(maxsize=8)
def undertone_strands(chart: Chart) -> UndertoneStrands:
    """Return, for each level in half steps, the colours from more orange to more golden."""
    ks = np.stack(
        [chart.warmth_ks(level, undertone) for level in LEVELS for undertone in UNDERTONES]
    )
    labs = reflectance_to_lab(to_reflectance(ks)).reshape(len(LEVELS), len(UNDERTONES), 3)
    return {
        "undertones": UNDERTONES,
        "levels": {
            f"{level:.1f}": [lab_to_hex(lab) for lab in row]
            for level, row in zip(LEVELS, labs, strict=True)
        },
    }


def zone_strands(chart: Chart, readings: Mapping[str, ZoneReading]) -> list[ZoneStrand]:
    """Return the zones as the head is drawn: colour and level of each that was read."""
    drawn: list[ZoneStrand] = []
    for zone in Zone.values:
        row = readings.get(zone)
        if row is None:
            drawn.append({"zone": zone, "hex": "", "note": ""})
            continue
        hair = Hair(
            lifted_level=float(row.lifted_level),
            undertone=float(row.undertone),
            white_percent=float(row.white_percent),
        )
        lab = reflectance_to_lab(hair.reflectance(chart))
        note = _("level %(level)s") % {"level": half_level(float(row.lifted_level))}
        drawn.append({"zone": zone, "hex": lab_to_hex(lab), "note": note})
    return drawn


@dataclass(frozen=True)
class ComparedStrand:
    """A strand to hold the hair against: `step` is how far it is from the predicted one."""

    step: float
    hex: str
    label: str


DEPTH_STEPS = (-1.0, -0.5, 0.0, 0.5, 1.0)
WARMTH_STEPS = (30.0, 15.0, 0.0, -15.0, -30.0)


def seen_hex(chart: Chart, predicted: Prediction, *, deeper: float, warmer: float) -> str:
    """Return the colour of the strand that a look beside the predicted one means."""
    lab = hex_to_lab(str(predicted["dry_hex"]))
    level = float(predicted["level"]["value"])
    shift = _lightness(chart, level - deeper) - _lightness(chart, level)
    return lab_to_hex(lab + np.array([shift, *(warmer * _per_point(chart, predicted))]))


def _per_point(chart: Chart, predicted: Prediction) -> Array:
    """Return what one point of warmth is in a*b* on this hair."""
    start, natural = hex_to_lab(str(predicted["start_hex"])), chart.natural_lab
    neutral = [np.interp(start[0], natural[:, 0], natural[:, k]) for k in (1, 2)]
    return np.asarray((start[1:] - neutral) / 100.0)


def depth_strands(chart: Chart, predicted: Prediction) -> list[ComparedStrand]:
    """Return strands from lighter to deeper, the predicted one in the middle."""
    words = (
        _("1 level lighter"),
        _("half a level lighter"),
        _("as predicted"),
        _("half a level deeper"),
        _("1 level deeper"),
    )
    return [
        ComparedStrand(step, seen_hex(chart, predicted, deeper=step, warmer=0.0), label)
        for step, label in zip(DEPTH_STEPS, words, strict=True)
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
    return [
        ComparedStrand(step, seen_hex(chart, predicted, deeper=0.0, warmer=step), label)
        for step, label in zip(WARMTH_STEPS, words, strict=True)
    ]


def _lightness(chart: Chart, level: float) -> float:
    return float(chart.natural_lab_at(min(max(level, 1.0), 10.0))[0])
