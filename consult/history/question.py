"""What the owner asks about: a time, and where given whose visits and which hair."""

import datetime as dt
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple
from urllib.parse import urlencode

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from clients.models import Service
from consult.history.looks import Look
from consult.models import Visit
from consult.zones import Zone
from formulas.models import ProductLine
from salon.models import Salon, Staff


class Whose(NamedTuple):
    """The visits of a time of a salon, and where given those of a stylist, line or service."""

    salon: Salon
    since: dt.datetime
    until: dt.datetime
    stylist: Staff | None = None
    line: ProductLine | None = None
    service: Service | None = None


@dataclass(frozen=True)
class Question:
    """What is asked about: a time, and where given whose visits, and which part of the hair.

    `level` is the whole level that a mix was predicted to give.
    """

    salon: Salon
    first: dt.date
    last: dt.date
    stylist: Staff | None = None
    line: ProductLine | None = None
    zone: str = ""
    service: Service | None = None
    level: int | None = None

    @property
    def as_fields(self) -> list[tuple[str, str]]:
        """What is asked, as the fields of its form."""
        return [
            ("first", self.first.isoformat()),
            ("last", self.last.isoformat()),
            *((n, str(o.pk)) for n, o in self._rows.items() if o is not None),
            *([("zone", self.zone)] if self.zone else []),
            *([("level", str(self.level))] if self.level else []),
        ]

    @cached_property
    def as_address(self) -> str:
        """The same for an address."""
        return urlencode(self.as_fields)

    @property
    def in_words(self) -> str:
        """Whose results are asked about, for a heading on paper."""
        found = [str(row) for row in self._rows.values() if row is not None]
        if self.zone:
            found.append(str(Zone(self.zone).label))
        if self.level:
            found.append(_("level %(level)s predicted") % {"level": self.level})
        return ", ".join(found)

    @property
    def _rows(self) -> dict[str, Staff | ProductLine | Service | None]:
        return {"stylist": self.stylist, "line": self.line, "service": self.service}

    def covers(self, look: Look) -> bool:
        """Whether a result is of the part of the hair and the level that are asked about."""
        if self.zone and look.zone != self.zone:
            return False
        return self.level is None or round(look.predicted_level.value) == self.level

    @property
    def whose(self) -> "Whose":
        """Which visits it is about."""
        return Whose(self.salon, self.since, self.until, self.stylist, self.line, self.service)

    @property
    def since(self) -> dt.datetime:
        """The first moment."""
        return dt.datetime.combine(self.first, dt.time(), tzinfo=self.salon.zone)

    @property
    def until(self) -> dt.datetime:
        """The moment after the last."""
        after = self.last + dt.timedelta(days=1)
        return dt.datetime.combine(after, dt.time(), tzinfo=self.salon.zone)


def visits_in_question(question: Question) -> QuerySet[Visit]:
    """Return the closed visits that a question is about."""
    return visits_of(question.whose)


def visits_of(whose: Whose) -> QuerySet[Visit]:
    """Return the closed visits of a time, and where given of a stylist, line or service."""
    visits = Visit.objects.for_salon(whose.salon).closed()
    visits = visits.filter(opened_at__gte=whose.since, opened_at__lt=whose.until)
    if whose.stylist:
        visits = visits.filter(stylist=whose.stylist)
    if whose.line:
        visits = visits.filter(line=whose.line)
    if whose.service:
        visits = visits.filter(appointment__service=whose.service)
    return visits
