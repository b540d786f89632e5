"""A measured swatch, as an instrument's program copies it, to a reflectance on the grid."""

import re

import numpy as np
from django.utils.translation import gettext as _

from formulas import refusals
from formulas.engine.light import grid
from formulas.engine.light.recovery import recover_reflectance

_MOST_NUMBERS = 2000
_PERCENT_FROM = 1.5  # larger than any reflectance in shares: the values are per cent


class SwatchRefused(ValueError):
    """Raised when the pasted text is no measurement; says what is expected."""


def read_swatch(text: str) -> list[float]:
    """Return the reflectance, 31 values from 400 to 700 nm, of a pasted measurement.

    Three ways are understood: L*, a*, b* (D65, 10 degrees); 31 values from 400 to 700 nm;
    pairs of wavelength and value, one pair a line. Values may be shares or per cent.
    """
    numbers = _numbers(text)
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
                )
                % {"count": len(numbers)}
            )
    except SwatchRefused:
        raise
    except ValueError as error:
        raise SwatchRefused(
            _("No hair can have this colour. Check the numbers. (%(detail)s)")
            % {"detail": refusals.in_words(error)}
        ) from error
    return [round(float(value), 5) for value in np.asarray(spectrum)]


def _numbers(text: str) -> list[float]:
    numbers = []
    for token in re.split(r"[\s;]+|,(?=\s)", text.strip()):
        parts = token.split(",") if "," in token and "." in token else [token]
        for part in parts:
            if not part:
                continue
            try:
                numbers.append(float(part.replace(",", ".").replace("−", "-")))
            except ValueError:
                raise SwatchRefused(
                    _("“%(word)s” is not a number.") % {"word": part[:20]}
                ) from None
            if not np.isfinite(numbers[-1]) or len(numbers) > _MOST_NUMBERS:
                raise SwatchRefused(_("Too many numbers, or not plain ones."))
    return numbers


def _shares(values: list[float]) -> list[float]:
    return [v / 100 for v in values] if max(values) > _PERCENT_FROM else values
