"""The public holidays of the salon's country, from the library `holidays`."""

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import get_language

# What the library adds to the name of a day taken instead, or of one not fixed yet.
_ADDED = re.compile(r"\s*\([^)]*\)$")


@dataclass(frozen=True)
class Holiday:
    """A day that the country, or an area of it, keeps; several may fall on one.

    `keys` are the holidays that make it one, each the same in every year and language.
    """

    date: dt.date
    name: str
    keys: tuple[str, ...] = ()


def areas_of(country: str) -> Sequence[str]:
    """Return the codes of a country's areas with holidays of their own; none if unknown."""
    import holidays  # late: the tables of all countries take a fifth of a second

    return holidays.list_supported_countries().get(country, ())


def is_known(country: str) -> bool:
    """Return whether the library knows a country's holidays."""
    import holidays

    return country in holidays.list_supported_countries()


def of_year(*, country: str, area: str, year: int) -> list[Holiday]:
    """Return a year's public holidays, named in the reader's language where it is known.

    A holiday and the day taken instead of it have one key.
    """
    spoken = (get_language() or "en").split("-")[0]
    named = _of_year(country, area, year, spoken)
    keys = _of_year(country, area, year, "en")
    return [
        Holiday(
            day, name[:80], tuple(_ADDED.sub("", key)[:80] for key in keys[day].split("; "))
        )
        for day, name in sorted(named.items())
    ]


def _of_year(country: str, area: str, year: int, spoken: str) -> dict[dt.date, str]:
    import holidays

    languages = holidays.list_localized_countries().get(country, [])
    language = next((known for known in languages if known.split("_")[0] == spoken), None)
    if language is None and "en_US" in languages:
        language = "en_US"
    found = holidays.country_holidays(
        country, subdiv=area or None, years=year, language=language
    )
    return {day: name for day, name in found.items() if day.year == year}
