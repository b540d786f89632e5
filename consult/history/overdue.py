"""Who comes how often, and who is overdue with nothing booked."""

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median
from typing import Any

from django.db.models import Count, Exists, OuterRef, QuerySet
from django.db.models.functions import Coalesce

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
# The longest overdue are on the page; the file has all.
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
    late: int  # how many are, whether listed or not

    @property
    def shown(self) -> Sequence[Overdue]:
        """The longest overdue, as many as a page bears."""
        return self.overdue[:SHOWN]

    @property
    def more(self) -> int:
        """How many more there are."""
        return self.late - len(self.shown)


def rhythm(
    *, salon: Salon, first: dt.date, last: dt.date, at: dt.datetime, most: int | None = None
) -> Rhythm:
    """Return the intervals that ended in a time, and who is overdue now; a few queries.

    With `most` only so many of the longest overdue are listed.

    From what visits keep; where one of these years keeps nothing, from every visit of them.
    """
    looked_back = Visit.objects.for_salon(salon).closed()
    looked_back = looked_back.filter(opened_at__gte=at - dt.timedelta(days=LOOKED_BACK_DAYS))
    if not looked_back.filter(figures__isnull=True).exists():
        return _kept(looked_back, salon=salon, first=first, last=last, at=at, most=most)
    found = _from_visits(salon=salon, first=first, last=last, at=at)
    return replace(found, overdue=found.overdue[:most])


def _kept(
    visits: QuerySet[Visit],
    *,
    salon: Salon,
    first: dt.date,
    last: dt.date,
    at: dt.datetime,
    most: int | None,
) -> Rhythm:
    since = dt.datetime.combine(first, dt.time(), tzinfo=salon.zone)
    until = dt.datetime.combine(last + dt.timedelta(days=1), dt.time(), tzinfo=salon.zone)
    weeks = [
        days / 7
        for days, count in visits.filter(
            opened_at__gte=since, opened_at__lt=until, figures__days_since__isnull=False
        )
        .order_by()
        .values_list("figures__days_since")
        .annotate(Count("pk"))
        for _ in range(count)
    ]
    late = _kept_late(visits, salon, at)
    listed = _named(late, salon, at) if most is None else _longest(late, salon, at, most)
    return Rhythm(median(weeks) if weeks else None, len(weeks), listed, len(late))


# A person, the day of the visit that counts, when the next was due, and whether it was agreed.
_Late = tuple[int, dt.datetime, dt.date, bool]


def _longest(late: Sequence[_Late], salon: Salon, at: dt.datetime, most: int) -> list[Overdue]:
    """Return the longest overdue; names are read of these only."""
    due = sorted(row[2] for row in late)[:most]
    return _named([row for row in late if due and row[2] <= due[-1]], salon, at)[:most]


def _named(late: Sequence[_Late], salon: Salon, at: dt.datetime) -> list[Overdue]:
    today = at.astimezone(salon.zone).date()
    names = dict(
        Client.objects.filter(pk__in=[row[0] for row in late]).values_list("pk", "name")
    )
    found = [
        Overdue(
            pk, names[pk], counted.astimezone(salon.zone).date(), due,
            (today - due).days // 7, is_agreed,
        )
        for pk, counted, due, is_agreed in late
    ]  # fmt: skip
    return sorted(found, key=lambda row: (row.due, row.name))


def _kept_late(visits: QuerySet[Visit], salon: Salon, at: dt.datetime) -> list[_Late]:
    """Return who is overdue by their latest visit; entries of one person count as one."""
    today = at.astimezone(salon.zone).date()
    own = OuterRef("client")
    coming = Appointment.objects.filter(
        starts_at__gte=at, status__in=[Booking.BOOKED, Booking.CHECKED_IN]
    )
    rows: list[Any] = list(
        visits.filter(
            ~Exists(visits.filter(client=own, opened_at__gt=OuterRef("opened_at"))),
            ~Exists(coming.filter(client=own)),
            opened_at__gte=at - dt.timedelta(days=EXPECTED_DAYS),
            figures__due_on__lt=today,
        )
        .annotate(
            person=person.id_through("client"),
            # A redone colour is no visit of its own in the rhythm.
            counted_at=Coalesce("corrects__opened_at", "opened_at"),
        )
        .order_by("opened_at")
        .values_list("person", "opened_at", "counted_at", "figures__due_on", "next_visit_date")
    )
    people = {row[0] for row in rows}
    merged = Client.objects.filter(salon=salon, merged_into__isnull=False)
    entries: dict[int, int] = {
        pk: own
        for pk, own in merged.order_by().values_list("pk", "merged_into_id")
        if own in people
    }
    several = set(entries.values())
    among = [*entries, *several]
    booked = {
        entries.get(pk, pk)
        for pk in coming.filter(client__in=among).values_list("client", flat=True)
    }
    latest: dict[int, dt.datetime] = {}
    for pk, moment in visits.filter(client__in=among).values_list("client", "opened_at"):
        own_id = entries.get(pk, pk)
        latest[own_id] = max(moment, latest.get(own_id, moment))
    return [
        (pk, counted, due, agreed is not None)
        for pk, moment, counted, due, agreed in rows
        if pk not in booked and latest.get(pk, moment) == moment
    ]


def spaced(pks: Sequence[int], *, salon: Salon) -> dict[int, tuple[int | None, dt.date | None]]:
    """Return (days since the visit before, when the next is due) of visits; two queries."""
    chosen = Visit.objects.filter(pk__in=pks).annotate(person=person.id_through("client"))
    rows = (
        Visit.objects.for_salon(salon)
        .closed()
        .filter(person.named_by("client", list(chosen.values_list("person", flat=True))))
        .annotate(person=person.id_through("client"))
        .order_by("opened_at", "pk")
        .values_list("pk", "person", "opened_at", "next_visit_date", "corrects")
    )
    days: dict[int, list[dt.date]] = defaultdict(list)
    found: dict[int, tuple[int | None, dt.date | None]] = {}
    for pk, own_id, opened_at, agreed, corrects in rows:
        own = days[own_id]
        since = None
        if corrects is None:
            own.append(opened_at.astimezone(salon.zone).date())
            since = (own[-1] - own[-2]).days if len(own) > 1 else None
        found[pk] = since, agreed or (usual(own) if own else None)
    return found


def _from_visits(*, salon: Salon, first: dt.date, last: dt.date, at: dt.datetime) -> Rhythm:
    """Return the same from every visit of the years looked back at; three queries."""
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
    return Rhythm(median(ended) if ended else None, len(ended), late, len(late))


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
        if (expected := agreed[pk] or usual(own)) is not None
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


def usual(own: Sequence[dt.date]) -> dt.date | None:
    """Return when a client would come again by their own rhythm; None where none shows."""
    gaps = [(after - before).days for before, after in pairwise(own[-6:])]
    if len(gaps) < FEWEST_INTERVALS:
        return None
    return own[-1] + dt.timedelta(days=round(median(gaps)))
