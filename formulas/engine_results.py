"""The engine's results as plain values, ready to be frozen as JSON."""

from collections.abc import Sequence
from typing import Any

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from formulas import engine
from formulas.engine.light.colorimetry import lab_to_hex, reflectance_to_lab
from formulas.engine.light.kubelka_munk import to_reflectance
from formulas.engine.light.wet import wetting_ratio


def mix_in_words(parts: Sequence[tuple[str, float]]) -> str:
    """Return "2 parts 8 natural, 1 part 8 violet-blue"."""
    words = []
    for name, part in parts:
        said = _("%(count)s part %(shade)s") if part == 1 else _("%(count)s parts %(shade)s")
        words.append(said % {"count": number_format(f"{float(part):g}"), "shade": name})
    return ", ".join(words)


def limit_points(curve: engine.LimitCurve) -> list[list[float]]:
    """Return the line that no mix can cross, as the plot takes it."""
    return [
        [round(float(warmth), 2), round(float(deeper), 3)]
        for warmth, deeper in zip(
            curve.warmth_left_percent, curve.levels_deeper_looks, strict=True
        )
    ]


def mix_data(result: engine.SearchResult, mix: engine.Candidate) -> dict[str, Any]:
    ks = result.bed.mixture_ks(result.bed.fractions(dict(mix.parts)))
    return {
        "warmth_left_percent": round(mix.warmth_left_percent, 2),
        "levels_deeper_looks": round(mix.levels_deeper_looks, 3),
        "levels_deeper_measured": round(mix.levels_deeper_measured, 3),
        "hex": mix.hex,
        "damp_hex": damp_hex(mix.lab, ks),
        "label": mix_in_words(mix.parts),
        "parts": [list(part) for part in mix.parts],
        "cast": round(mix.cast, 2),
    }


def range_data(ranged: engine.Ranged[float]) -> dict[str, float]:
    return {side: round(getattr(ranged, side), 3) for side in ("value", "low", "high")}


def damp_hex(lab: Any, ks: Any) -> str:
    return lab_to_hex(reflectance_to_lab(to_reflectance(ks * float(wetting_ratio(lab[0])))))


def rounded(lab: Any) -> list[float]:
    return [round(float(value), 2) for value in lab]
