"""Who comes how often, and who is overdue with nothing booked."""

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median

from clients.models import Appointment, Client
from clients.models import Status as Booking
from clients.people import person
from consult.models import Visit
from salon.models import Salon

# A client away for longer than this has left and is not listed as overdue.
LOOKED_BACK_DAYS = 2 * 365
EXPECTED_DAYS = 365
# Fewer intervals of a client are no rhythm.
FEWEST_INTERVALS = 2
# The longest overdue stand on the page; the file has all.
SHOWN = 25


@dataclass(frozen=True)
class Overdue:
    """A client who was due before today and has nothing booked."""

    pk: int
    name: str
    last: dt.date
    due: dt.date
    weeks: int
    is_agreed: bool


@dataclass(frozen=True)
class Rhythm:
    """How many weeks lie between two colour visits, and who is overdue."""

    median_weeks: float | None
    intervals: int
    overdue: Sequence[Overdue]

    @property
    def shown(self) -> Sequence[Overdue]:
        """The longest overdue, as many as a page bears."""
        return self.overdue[:SHOWN]

    @property
    def more(self) -> int:
        """How many more there are."""
        return len(self.overdue) - len(self.shown)


def rhythm(*, salon: Salon, first: dt.date, last: dt.date, at: dt.datetime) -> Rhythm:
    """Return the intervals that ended in a time, and who is overdue now; three queries."""
    rows = (
        Visit.objects.for_salon(salon)
        .closed()
        .filter(opened_at__gte=at - dt.timedelta(days=LOOKED_BACK_DAYS))
        .annotate(person=person.id_through("client"))
        .order_by("opened_at")
        .values_list("person", "opened_at", "next_visit_date", "corrects")
    )
    days: dict[int, list[dt.date]] = defaultdict(list)
    agreed: dict[int, dt.date | None] = {}
    for pk, opened_at, next_date, corrects in rows:
        if corrects is None:
            days[pk].append(opened_at.astimezone(salon.zone).date())
        agreed[pk] = next_date
    ended = [
        (after - before).days / 7
        for own in days.values()
        for before, after in pairwise(own)
        if first <= after <= last
    ]
    today = at.astimezone(salon.zone).date()
    late = _late(days, agreed, salon=salon, today=today, at=at)
    return Rhythm(median(ended) if ended else None, len(ended), late)


def _late(
    days: dict[int, list[dt.date]],
    agreed: dict[int, dt.date | None],
    *,
    salon: Salon,
    today: dt.date,
    at: dt.datetime,
) -> list[Overdue]:
    due = {
        pk: expected
        for pk, own in days.items()
        if (expected := agreed[pk] or _usual(own)) is not None
        and expected < today
        and (today - own[-1]).days <= EXPECTED_DAYS
    }
    coming = set(
        Appointment.objects.filter(
            salon=salon, starts_at__gte=at, status__in=[Booking.BOOKED, Booking.CHECKED_IN]
        )
        .annotate(person=person.id_through("client"))
        .values_list("person", flat=True)
    )
    names = dict(Client.objects.filter(pk__in=due.keys() - coming).values_list("pk", "name"))
    found = [
        Overdue(
            pk, name, days[pk][-1], due[pk], (today - due[pk]).days // 7, agreed[pk] is not None
        )
        for pk, name in names.items()
    ]
    return sorted(found, key=lambda row: (row.due, row.name))


def _usual(own: Sequence[dt.date]) -> dt.date | None:
    """Return when a client would come again by their own rhythm; None where none shows."""
    gaps = [(after - before).days for before, after in pairwise(own[-6:])]
    if len(gaps) < FEWEST_INTERVALS:
        return None
    return own[-1] + dt.timedelta(days=round(median(gaps)))
