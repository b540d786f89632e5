"""Single cells of a list of shades: numbers with units, prices, dates."""

import datetime as dt
import re
from decimal import Decimal, InvalidOperation

from django.utils import formats
from django.utils.translation import gettext as _

from salon.numbers import plain_number
from salon.refusals import Refused

# Letters, currency signs and spaces around a number: "60 g", "€ 7,20", "EUR 7.20".
_AROUND = re.compile(r"^[^\d\-−+]+|[^\d]+$")


class BadCell(Refused):
    """Raised where a cell is not what its column holds; says why."""


def number(
    text: str, *, name: str, low: Decimal, high: Decimal, decimals: int = 1
) -> Decimal | None:
    """Return the number in a cell, or None where it is empty."""
    if not text.strip():
        return None
    wrong = BadCell(
        _("%(name)s: “%(text)s” is not a number from %(low)s to %(high)s.")
        % {
            "name": name,
            "text": text[:20],
            "low": formats.number_format(low),
            "high": formats.number_format(high),
        }
    )
    try:
        value = Decimal(plain_number(_AROUND.sub("", text)))
    except InvalidOperation:
        raise wrong from None
    if not value.is_finite() or not low <= value <= high:
        raise wrong
    return round(value, decimals)


def date(text: str) -> dt.date | None:
    """Return a best-before date; a month alone counts to its last day."""
    text = text.strip()
    if not text:
        return None
    for pattern, is_month in (
        (r"(\d{4})-(\d{1,2})-(\d{1,2})", False),
        (r"(\d{1,2})[./](\d{1,2})[./](\d{4})", False),
        (r"(\d{4})-(\d{1,2})", True),
        (r"(\d{1,2})[./-](\d{4})", True),
    ):
        found = re.fullmatch(pattern, text)
        if found:
            parts = [int(part) for part in found.groups()]
            year_first = len(found[1]) == 4
            try:
                return _date(parts if year_first else parts[::-1], is_month=is_month)
            except ValueError:
                break
    raise BadCell(_("Best before: write “%(text)s” as 2027-06 or 2027-06-30."), text=text[:20])


def _date(parts: list[int], *, is_month: bool) -> dt.date:
    if not is_month:
        return dt.date(*parts)
    year, month = parts
    following = dt.date(year + month // 12, month % 12 + 1, 1)
    return following - dt.timedelta(days=1)
