"""Birth dates as lists write them: which of day and month comes first, then one by one."""

import datetime as dt
import functools
import re
from collections.abc import Iterable

from django.conf import settings
from django.utils import translation
from django.utils.dates import MONTHS, MONTHS_3

DAY_FIRST, MONTH_FIRST, UNCLEAR = "dmy", "mdy", "?"
OLDEST_YEARS = 120
# One writing against the other this often is a column with slips, less is two columns in one.
_FEW = 20
_NUMBERS = re.compile(r"(\d{1,2})\s*([./-])\s*(\d{1,2})\s*\2\s*(\d{4}|\d{2})")
_YEAR_FIRST = re.compile(r"(\d{4})([./-]?)(\d{2})\2(\d{2})|(\d{4})([./-])(\d{1,2})\6(\d{1,2})")
_WORDS = re.compile(r"(\d{1,2})[.\s-]*([^\W\d_]+)[.,\s-]*(\d{4}|\d{2})")
_WORDS_US = re.compile(r"([^\W\d_]+)\.?\s*(\d{1,2}),?\s+(\d{4})")
_MIDNIGHT = re.compile(r"[ T]+0{1,2}:00(:00)?(\.0+)?Z?$")


class NotADate(Exception):
    """Raised where a text cannot be read as a birth date."""


class TwoCenturies(NotADate):
    """Raised where a year of two digits may mean either of two centuries."""


def order_of(texts: Iterable[str]) -> str:
    """Return which comes first in a column: DAY_FIRST, MONTH_FIRST, or UNCLEAR.

    Only dates with slashes or hyphens count: with dots the day comes first (DIN 5008 and
    the custom of every country that writes dots; common practice, no source for "every").
    A column without such dates needs no order and is DAY_FIRST.
    """
    day_first = month_first = either = 0
    for text in texts:
        found = _NUMBERS.fullmatch(_MIDNIGHT.sub("", text.strip()))
        if not found or found[2] == ".":
            continue
        first, second = int(found[1]), int(found[3])
        day_first += first > 12 >= second
        month_first += second > 12 >= first
        either += first <= 12 and second <= 12 and first != second
    if day_first > month_first * _FEW:
        return DAY_FIRST
    if month_first > day_first * _FEW:
        return MONTH_FIRST
    return UNCLEAR if day_first or either else DAY_FIRST


def read(text: str, *, order: str, today: dt.date) -> dt.date:
    """Return a birth date that somebody alive can have, or raise NotADate."""
    text = _MIDNIGHT.sub("", text.strip())
    try:
        born = _read(text, order, today)
    except ValueError as error:
        raise NotADate from error
    if born > today or born.year < today.year - OLDEST_YEARS:
        raise NotADate
    return born


def _read(text: str, order: str, today: dt.date) -> dt.date:
    if found := _YEAR_FIRST.fullmatch(text):
        year, month, day = (found[1], found[3], found[4]) if found[1] else found.group(5, 7, 8)
        return dt.date(int(year), int(month), int(day))
    if found := _NUMBERS.fullmatch(text):
        first, second = int(found[1]), int(found[3])
        if found[2] != "." and order == UNCLEAR and first != second and max(first, second) < 13:
            raise NotADate
        swapped = found[2] != "." and (
            order == MONTH_FIRST or (order == UNCLEAR and second > 12)
        )
        day, month = (second, first) if swapped else (first, second)
        return _with_year(found[4], month, day, today)
    if found := _WORDS.fullmatch(text):
        return _with_year(found[3], _month(found[2]), int(found[1]), today)
    if found := _WORDS_US.fullmatch(text):
        return dt.date(int(found[3]), _month(found[1]), int(found[2]))
    raise NotADate


def _with_year(year: str, month: int, day: int, today: dt.date) -> dt.date:
    """Return the date; of a year in two digits the only century that can be meant."""
    if len(year) == 4:
        return dt.date(int(year), month, day)
    century = today.year // 100 * 100
    possible = [
        full
        for full in (century + int(year), century - 100 + int(year))
        if today.year - OLDEST_YEARS <= full <= today.year
    ]
    if len(possible) > 1:
        raise TwoCenturies
    return dt.date(possible[0], month, day)


def _month(word: str) -> int:
    try:
        return _months()[word.casefold()]
    except KeyError:
        raise NotADate from None


@functools.cache
def _months() -> dict[str, int]:
    """Return the number of each month's name, whole and short, in every language on offer."""
    known: dict[str, int] = {}
    for code, _name in settings.LANGUAGES:
        with translation.override(code):
            for names in (MONTHS, MONTHS_3):
                known |= {str(n).casefold().rstrip("."): k for k, n in names.items()}
    return known
