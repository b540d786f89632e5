"""What someone typed into the find box, taken apart: words, digits of a phone, a birth date."""

import calendar
import datetime as dt
import re
from collections.abc import Iterator
from dataclasses import dataclass

import phonenumbers
from anyascii import anyascii
from django.conf import settings
from django.utils import dates, timezone, translation

from clients.models.client import searchable

MOST_WORDS = 5
SHORTEST_MIDDLE = 3
_EARLIEST_YEAR = 1900


@dataclass(frozen=True)
class Born:
    """A birth date as far as it was typed: a range of days, or a day and month of any year."""

    first: dt.date | None = None
    last: dt.date | None = None
    birthday: str = ""  # "0425", or "04" for all of April


@dataclass(frozen=True)
class Typed:
    """One way to read a text; a client must match every part that is given."""

    words: tuple[str, ...] = ()
    digits: frozenset[str] = frozenset()
    born: Born | None = None
    email: str = ""


def readings(text: str, *, region: str = "") -> Iterator[Typed]:
    """Yield the ways to read a text, the likeliest first.

    A phone number without a country is one of `region`, the installation's where it is empty.
    """
    whole = _date(text)
    if whole:
        yield Typed(born=Born(whole, whole))
    if not re.search(r"[^\d\s()+./-]", text):
        yield from _number_readings(text, region)
        return
    if "@" in text:
        yield Typed(email=text.casefold())
        return
    words, numbers = _split(text)
    yield from _month_readings(text)
    if numbers:
        for reading in _number_readings(" ".join(numbers), region):
            yield Typed(tuple(words), reading.digits, reading.born)
    elif words:
        yield Typed(tuple(words))
        yield Typed(email=text.casefold())


def skeleton(word: str) -> str:
    """Return the consonants of a word in Latin letters: vowels are not written in all scripts.

    Semivowels count as vowels and a doubled consonant as one: Muhammad, Mohamed and محمد are
    all "mhmd".
    """
    latin = re.sub(r"[^a-z]", "", anyascii(word).lower())
    consonants = re.sub(r"[aeiouwy]", "", latin).rstrip("h")
    return re.sub(r"(.)\1+", r"\1", consonants)


def _split(text: str) -> tuple[list[str], list[str]]:
    """Return the words and the numbers of a text, in order."""
    tokens = re.findall(r"[^\s]+", searchable(text))
    numbers = [token for token in tokens if re.fullmatch(r"[\d()+./-]*\d[\d()+./-]*", token)]
    others = " ".join(token for token in tokens if token not in numbers)
    return re.findall(r"[^\W_]+", others)[:MOST_WORDS], numbers


def _number_readings(text: str, region: str) -> Iterator[Typed]:
    day_and_month = re.fullmatch(r"(\d{1,2})[./](\d{1,2})[./]?", text.strip())
    if day_and_month and (birthday := _birthday(int(day_and_month[2]), int(day_and_month[1]))):
        yield Typed(born=birthday)
    digits = _digits(text, region)
    if digits:
        yield Typed(digits=frozenset(digits))
    year = re.fullmatch(r"(?:19|20)\d\d", text.strip())
    if year and _EARLIEST_YEAR <= int(text) <= timezone.now().year:
        yield Typed(born=_span(int(text)))
    whole = _date(text)
    if whole:
        yield Typed(born=Born(whole, whole))


def _month_readings(text: str) -> Iterator[Typed]:
    """Yield the readings of a text that names a month: "april 1975", "25 april"."""
    tokens = re.findall(r"[^\s.,]+", searchable(text))
    named = [(place, number) for place, token in enumerate(tokens)
             if (number := _months().get(token))]  # fmt: skip
    for place, month in named[:1]:
        others = tokens[:place] + tokens[place + 1 :]
        numbers = [int(token) for token in others if re.fullmatch(r"\d{1,4}", token)]
        words = tuple(token for token in others if not token.isdigit())[:MOST_WORDS]
        years = [number for number in numbers if number >= _EARLIEST_YEAR]
        days = [number for number in numbers if 1 <= number <= 31]
        if len(years) + len(days) != len(numbers) or len(years) > 1 or len(days) > 1:
            continue
        if years:
            born = _span(years[0], month, days[0] if days else None)
        else:
            born = _birthday(month, days[0] if days else None)
        if born:
            yield Typed(words=words, born=born)


def _months() -> dict[str, int]:
    """Return the months' names in English and in the reader's language."""
    found: dict[str, int] = {}
    for language in ("en", translation.get_language() or "en"):
        with translation.override(language):
            for names in (dates.MONTHS, dates.MONTHS_3, dates.MONTHS_AP):
                for number, name in names.items():
                    found[searchable(str(name)).rstrip(".")] = number
    return found


def _span(year: int, month: int | None = None, day: int | None = None) -> Born | None:
    try:
        first = dt.date(year, month or 1, day or 1)
    except ValueError:
        return None
    if day:
        return Born(first, first)
    end = month or 12
    return Born(first, dt.date(year, end, calendar.monthrange(year, end)[1]))


def _birthday(month: int, day: int | None) -> Born | None:
    if not 1 <= month <= 12:
        return None
    if day is None:
        return Born(birthday=f"{month:02}")
    if not 1 <= day <= calendar.monthrange(2000, month)[1]:  # 2000 was a leap year
        return None
    return Born(birthday=f"{month:02}{day:02}")


def _digits(text: str, region: str) -> set[str]:
    """Return the digits as a phone number may have them where it is stored, or nothing."""
    digits = "".join(c for c in text if c.isdigit())
    if len(digits) < 2:
        return set()
    found = {digits, digits.lstrip("0")} - {""}
    try:
        number = phonenumbers.parse(text, region or settings.PHONENUMBER_DEFAULT_REGION)
        found.add(str(number.national_number))
    except phonenumbers.NumberParseException:
        pass
    return found


def _date(text: str) -> dt.date | None:
    """Return a whole date, written with the day first or as ISO 8601.

    Of two digits of a year the latest that is not in the future is meant.
    """
    for pattern in (
        r"(?P<d>\d{1,2})[./\s-](?P<m>\d{1,2})[./\s-](?P<y>\d{4}|\d{2})",
        r"(?P<d>\d{2})(?P<m>\d{2})(?P<y>(?:19|20)\d{2})",
        r"(?P<y>\d{4})-(?P<m>\d{1,2})-(?P<d>\d{1,2})",
    ):
        match = re.fullmatch(pattern, text.strip())
        if match:
            year = int(match["y"])
            if len(match["y"]) == 2:
                year += 2000 if 2000 + year <= timezone.now().year else 1900
            try:
                return dt.date(year, int(match["m"]), int(match["d"]))
            except ValueError:
                continue
    return None
