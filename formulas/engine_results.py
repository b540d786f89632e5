"""The engine's results as plain values, ready to be frozen as JSON."""

from collections.abc import Iterable, Sequence

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from formulas import engine, engine_sentences
from formulas.engine.light.colorimetry import lab_to_hex, reflectance_to_lab
from formulas.engine_inputs import LastToner, ZoneInput
from formulas.snapshots import Mix, Range, StoredToner, StoredZone


def mix_in_words(parts: Sequence[tuple[str, float]]) -> str:
    """Return "2 parts 8 natural, 1 part 8 violet-blue"."""
    words = []
    for name, part in parts:
        text = _("%(count)s part %(shade)s") if part == 1 else _("%(count)s parts %(shade)s")
        words.append(text % {"count": number_format(f"{float(part):g}"), "shade": name})
    return ", ".join(words)


def limit_points(curve: engine.LimitCurve) -> list[list[float]]:
    """Return the line that no mix can cross, as the plot takes it."""
    return [
        [round(float(warmth), 2), round(float(deeper), 3)]
        for warmth, deeper in zip(
            curve.warmth_left_percent, curve.levels_deeper_looks, strict=True
        )
    ]


def band_points(band: engine.LimitBand) -> list[list[float]]:
    """Return the range of that line: warmth, least and most depth, as the plot takes it."""
    return [
        [round(float(number), 3) for number in point]
        for point in zip(band.curve.warmth_left_percent, band.low, band.high, strict=True)
    ]


def shown_data(shown: engine.Shown) -> Mix:
    """Return an offered mix with its ranges, as the plot and the strands take it."""
    warmth, deeper = shown.warmth_left_percent, shown.levels_deeper_looks
    return {
        "warmth_left_percent": round(warmth.value, 2),
        "warmth_low": round(warmth.low, 2),
        "warmth_high": round(warmth.high, 2),
        "levels_deeper_looks": round(deeper.value, 3),
        "deeper_low": round(deeper.low, 2),
        "deeper_high": round(deeper.high, 2),
        "levels_deeper_measured": round(shown.levels_deeper_measured.value, 3),
        "hex": shown.dry_hex,
        "damp_hex": shown.damp_hex,
        "label": mix_in_words(list(shown.parts.items())),
        "parts": list(shown.parts.items()),
        "cast": round(shown.cast, 2),
        "why": engine_sentences.translated(shown.why),
        "practice_costs_levels": round(shown.practice_costs_levels, 3),
    }


def range_data(ranged: engine.Ranged[float]) -> Range:
    return {
        "value": round(ranged.value, 3),
        "low": round(ranged.low, 3),
        "high": round(ranged.high, 3),
    }


def damp_hex(bed: engine.Bed) -> str:
    """Return the screen colour of the damp hair before toning."""
    return lab_to_hex(reflectance_to_lab(bed.damp()))


def rounded(lab: Iterable[float]) -> list[float]:
    return [round(float(value), 2) for value in lab]


def plain_zone(zone: ZoneInput) -> StoredZone:
    """Return a zone as plain data, to be frozen with what was shown."""
    return {
        "lifted_level": zone.lifted_level,
        "undertone": zone.undertone,
        "white_percent": zone.white_percent,
        "porosity": zone.porosity,
        "residual": None if zone.residual is None else _plain_toner(zone.residual),
        "take": zone.take,
        "take_doubt": zone.take_doubt,
        "natural_level": zone.natural_level,
    }


def _plain_toner(toner: LastToner) -> StoredToner:
    return {
        "parts": toner.parts,
        "minutes": toner.minutes,
        "washes": toner.washes,
        "earlier": tuple(map(_plain_toner, toner.earlier)),
    }
