"""The public holidays on which a salon is closed each year, as the owner chose.

They are entered as ordinary closed days, this year's and those of the next two, so that nobody
books them and one of them can be opened again for its year alone.
"""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, field
from typing import Self

from clients.diary import public_holidays as public
from clients.diary.public_holidays import Holiday
from salon.models import Salon

YEARS_AHEAD = 2


@dataclass(frozen=True)
class Yearly:
    """The owner's choice: holidays by their keys, of a country; `until` is the last year."""

    country: str = ""
    area: str = ""
    names: Sequence[str] = field(default_factory=list)
    until: int = 0

    @classmethod
    def of(cls, salon: Salon) -> Self:
        """Return what a salon chose; nothing until it has."""
        return cls(**salon.yearly_holidays)

    def is_of(self, salon: Salon) -> bool:
        """Whether it holds where the salon is now; a salon that moved is asked again."""
        return bool(self.names) and self.country == salon.region

    def has_moved(self, salon: Salon) -> bool:
        """Whether the salon is in another country now than when it chose."""
        return bool(self.names) and not self.is_of(salon)

    def as_kept(self) -> dict[str, object]:
        """Return it as the salon keeps it."""
        return {**asdict(self), "names": sorted(self.names)}


def days_of(chosen: Yearly, *, names: Iterable[str], first: int, last: int) -> list[Holiday]:
    """Return the days of some of the holidays from one year to another."""
    wanted = set(names)
    return [
        day
        for year in range(first, last + 1)
        for day in public.of_year(country=chosen.country, area=chosen.area, year=year)
        if wanted & set(day.keys)
    ]


def offered(*, country: str, area: str, today: dt.date) -> list[Holiday]:
    """Return each holiday once, with its next date, in the order of their dates.

    Those that fall into no day of one year, as days taken instead do, come from the next two.
    """
    found: dict[str, Holiday] = {}
    for year in range(today.year, today.year + YEARS_AHEAD + 1):
        for day in public.of_year(country=country, area=area, year=year):
            if day.date >= today:
                for key in day.keys:
                    found.setdefault(key, Holiday(day.date, day.name, (key,)))
    return sorted(found.values(), key=lambda day: day.date)
