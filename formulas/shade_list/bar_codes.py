"""The number under a bar code (GTIN-8, -12, -13 or -14): typed, or sent by a scanner."""

import re

from django.utils.translation import gettext as _

from salon.refusals import Refused

LENGTHS = (8, 12, 13, 14)


class NoBarCode(Refused):
    """Raised where digits are no such number; says why."""


def read(text: str) -> str:
    """Return the digits; the last one must fit (GS1 General Specifications, section 7.9)."""
    digits = re.sub(r"[\s-]", "", text)
    if not (digits.isascii() and digits.isdigit()) or len(digits) not in LENGTHS:
        raise NoBarCode(_("A bar code has 8, 12, 13 or 14 digits."), code="length")
    if check_digit(digits[:-1]) != int(digits[-1]):
        raise NoBarCode(
            _("The last digit does not fit the others: scan or type it again."),
            code="check_digit",
        )
    return digits


def check_digit(digits: str) -> int:
    """Return the digit that follows: weights 3 and 1 in turn from the right, up to ten."""
    total = sum(int(digit) * (1 if n % 2 else 3) for n, digit in enumerate(reversed(digits)))
    return -total % 10
