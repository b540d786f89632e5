"""Numbers as people type them: with a point or a comma, in any digits."""

from decimal import Decimal
from typing import Any

from django import forms

from salon.widgets import DecimalInput

_TYPED = str.maketrans(
    {"−": "-", "٫": ".", "،": ".", "’": "", "'": "", "\u00a0": "", "\u202f": ""}
)


def plain_number(text: Any) -> Any:
    """Return a typed number with a point: "7,5", "−2" and Arabic digits are understood."""
    if not isinstance(text, str):
        return text
    number = text.strip().translate(_TYPED)
    if number.count(",") == 1 and "." not in number:
        number = number.replace(",", ".")
    return "".join(_digit(character) for character in number)


def _digit(character: str) -> str:
    return str(int(character)) if character.isdecimal() else character


class Number(forms.DecimalField):
    """A decimal number, typed with a point or a comma."""

    widget = DecimalInput

    def to_python(self, value: Any) -> Decimal | None:  # type: ignore[override]
        number: Decimal | None = super().to_python(plain_number(value))
        # Far from anything in a salon, and past what the step's arithmetic can take.
        if number and number.is_finite() and not -9 < number.adjusted() < 9:
            raise forms.ValidationError(self.error_messages["invalid"], code="invalid")
        # "12.00" is as good as "12": trailing zeros are no further decimals.
        whole = number is not None and number.is_finite() and number == number.to_integral()
        return number.quantize(Decimal(1)) if whole and number is not None else number


class WholeNumber(forms.IntegerField):
    """A whole number in any digits."""

    def to_python(self, value: Any) -> int | None:
        return super().to_python(plain_number(value))


def row_number(text: str) -> int | None:
    """Return the number of a row that an address or a hidden field names, or None.

    `str.isdigit` takes "²" and any length, `int` does not.
    """
    return whole_number(text, digits=18)


def whole_number(text: str, *, digits: int) -> int | None:
    """Return a whole number that a request sends in plain digits, or None for anything else."""
    return int(text) if text.isascii() and text.isdigit() and len(text) <= digits else None
