"""A measured swatch, as an instrument's program copies it, to a reflectance on the grid."""

import re
from collections.abc import Sequence
from decimal import Decimal

import numpy as np
from django.utils.formats import number_format
from django.utils.translation import gettext as _

from formulas import refusals
from formulas.engine.hair.chart import LEVELS, WHITE_HAIR_LAB, Chart
from formulas.engine.light import grid
from formulas.engine.light.colorimetry import reflectance_to_lab
from formulas.engine.light.recovery import recover_reflectance
from salon.numbers import plain_number
from salon.refusals import Refused

_MOST_NUMBERS = 2000
_WHITE = WHITE_HAIR_LAB[0]
# How a program labels what it copies; the numbers alone count.
_LABELS = {
    "l", "l*", "a", "a*", "b", "b*", "lab", "l*a*b*", "cielab", "wavelength", "wavelengths",
    "value", "values", "reflectance", "nm", "r", "%", "wellenlänge", "wert", "werte",
    "reflexion", "lambda", "λ",
}  # fmt: skip
_NAMED = re.compile(r"(?<![\w*])([lab])\*?\s*[=:]\s*([+\-−]?\d+(?:[.,]\d+)?)", re.IGNORECASE)
# White hair scatters this much more or less than the chart's; beyond it is no hair.
_WHITE_SLACK = 4.0
# A shade may look this many levels off its label: tones darken, instruments differ.
_MOST_LEVELS_OFF = 3.0
_PERCENT_FROM = 1.5  # larger than any reflectance in shares: the values are per cent


class SwatchRefused(Refused):
    """Raised when the pasted text is no measurement; says what is expected."""


def read_swatch(text: str) -> list[float]:
    """Return the reflectance, 31 values from 400 to 700 nm, of a pasted measurement.

    Three ways are understood: L*, a*, b* (D65, 10 degrees); 31 values from 400 to 700 nm;
    pairs of wavelength and value, one pair a line. Values may be shares or per cent. Labels
    and a line of headings may stay: "L*=62.5; a*=4.1; b*=-6.3".
    """
    numbers = _labelled(text) or _numbers(text)
    try:
        if len(numbers) == 3:
            spectrum = recover_reflectance(numbers)
        elif len(numbers) == grid.BANDS and numbers[0] < 300:
            spectrum = grid.checked_reflectance(_shares(numbers), name="swatch")
        elif len(numbers) >= 6 and len(numbers) % 2 == 0 and numbers[0] >= 300:
            spectrum = grid.resample(numbers[::2], _shares(numbers[1::2]))
        else:
            raise SwatchRefused(
                _(
                    "Paste L*, a* and b*; or 31 values from 400 to 700 nm; or one wavelength "
                    "and its value on each line. You pasted %(count)s numbers."
                ),
                code="count",
                count=len(numbers),
            )
    except ValueError as error:
        raise SwatchRefused(
            _("No hair can have this colour. Check the numbers. (%(detail)s)"),
            code="no_colour",
            detail=refusals.in_words(error),
        ) from error
    return [round(float(value), 5) for value in np.asarray(spectrum)]


def check_swatch(reflectance: Sequence[float], *, level: Decimal | None) -> None:
    """Refuse a swatch that no toner gives on white hair, or that is far from its label."""
    lightness = float(reflectance_to_lab(np.asarray(reflectance))[0])
    values = {"lightness": number_format(lightness, 1), "white": number_format(_WHITE, 0)}
    if lightness > _WHITE + _WHITE_SLACK:
        raise SwatchRefused(
            _(
                "L* is %(lightness)s: lighter than the white hair under it (L* %(white)s). "
                "Measure the shade on dry white hair."
            ),
            code="too_light",
            **values,
        )
    looks = _natural_level(lightness)
    if looks is None:
        raise SwatchRefused(
            _("L* is %(lightness)s: darker than black hair. Check the numbers."),
            code="too_dark",
            **values,
        )
    if level is not None and abs(looks - float(level)) > _MOST_LEVELS_OFF:
        raise SwatchRefused(
            _(
                "L* is %(lightness)s: as dark as a natural %(looks)s, but the level is "
                "%(level)s. Check the level and the numbers."
            ),
            code="off_label",
            **values,
            looks=number_format(round(looks)),
            level=number_format(level.normalize()),
        )


def _natural_level(lightness: float) -> float | None:
    """Return the level of natural hair of this lightness; None below the darkest."""
    scale = Chart.default().natural_lab[:, 0]
    if lightness < float(scale[0]) - _WHITE_SLACK:
        return None
    return float(np.interp(lightness, scale, LEVELS))


def _labelled(text: str) -> list[float]:
    """Return L*, a* and b* where all three are named, in whatever order; else nothing."""
    found = {name.lower(): number for name, number in _NAMED.findall(text)}
    if len(found) != 3 or len(_NAMED.findall(text)) != 3:
        return []
    return [float(plain_number(found[name].replace("−", "-"))) for name in "lab"]


def _is_label(word: str) -> bool:
    return all(part.strip("()[]:=").casefold() in {"", *_LABELS} for part in word.split(","))


def _numbers(text: str) -> list[float]:
    numbers: list[float] = []
    for word in re.split(r"[\s;]+|,(?=\s)", text.strip()):
        if _is_label(word):
            continue
        parts = word.split(",") if "," in word and "." in word else [word]
        for part in (each.removesuffix("nm") for each in parts):
            if not part:
                continue
            try:
                numbers.append(float(part.replace(",", ".").replace("−", "-")))
            except ValueError:
                raise SwatchRefused(
                    _("“%(word)s” is not a number."), code="no_number", word=part[:20]
                ) from None
            if not np.isfinite(numbers[-1]) or len(numbers) > _MOST_NUMBERS:
                raise SwatchRefused(_("Too many numbers, or not plain ones."), code="too_many")
    return numbers


def _shares(values: list[float]) -> list[float]:
    return [v / 100 for v in values] if max(values) > _PERCENT_FROM else values
