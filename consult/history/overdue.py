"""Who comes how often, and who is overdue with nothing booked."""

import datetime as dt
from bisect import bisect
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, pairwise
from statistics import median
from typing import Any

from django.db.models import Count, Exists, OuterRef, QuerySet
from django.db.models.functions import Coalesce

from clients.models import Appointment, Client
from clients.models import Status as Booking
from clients.people import person
from consult.history import completeness
from consult.history.intervals import usual
from consult.models import Visit, VisitFigures
from salon.models import Salon

# A client away for longer than this has left and is not listed as overdue.
LOOKED_BACK_DAYS = 2 * 365
EXPECTED_DAYS = 365
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
    if completeness.all_keep(salon=salon, since=at - dt.timedelta(days=LOOKED_BACK_DAYS)):
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
    figures = VisitFigures.objects.filter(salon=salon, days_since__isnull=False)
    looked_back = max(since, at - dt.timedelta(days=LOOKED_BACK_DAYS))
    days = dict(
        figures.filter(opened_at__gte=looked_back, opened_at__lt=until)
        .order_by("days_since")
        .values_list("days_since")
        .annotate(Count("pk"))
    )
    rows: Any = _late_people(visits, salon, at).order_by("due_on").values_list("pk", "due_on")
    late: list[tuple[int, dt.date]] = list(rows)
    together = _late_of_several(visits, salon, at)
    latest = late[:most][-1][1] if late else None
    listed = [pk for pk, due in late if latest and due <= latest]
    named = _rows(VisitFigures.objects.filter(pk__in=listed)) if listed else []
    found = _named([*named, *together], salon, at)
    return Rhythm(
        _median_weeks(days),
        sum(days.values()),
        found[:most],
        len(late) + len(together),
    )


def _median_weeks(counts: Mapping[int, int]) -> float | None:
    """Return the median in weeks of days by how often each occurs, the smallest first."""
    every = sum(counts.values())
    ends = list(accumulate(counts.values()))
    if not every:
        return None
    days = list(counts)
    return median(days[bisect(ends, place)] / 7 for place in ((every - 1) // 2, every // 2))


# A person, the day of the visit that counts, when the next was due, and whether it was agreed.
_Late = tuple[int, dt.datetime, dt.date, bool]


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


def _late_figures(
    visits: QuerySet[Visit], salon: Salon, at: dt.datetime
) -> "QuerySet[VisitFigures]":
    """Return the latest visits of entries that are due and have nothing booked."""
    own, today = OuterRef("visit__client"), at.astimezone(salon.zone).date()
    return VisitFigures.objects.filter(
        # Asked again: of two that close at once neither knows the other.
        ~Exists(visits.filter(client=own, opened_at__gt=OuterRef("opened_at"))),
        ~Exists(_coming(at).filter(client=own)),
        salon=salon,
        is_followed=False,
        due_on__lt=today,
        opened_at__gte=at - dt.timedelta(days=EXPECTED_DAYS),
    )


def _coming(at: dt.datetime) -> QuerySet[Appointment]:
    return Appointment.objects.filter(
        starts_at__gte=at, status__in=[Booking.BOOKED, Booking.CHECKED_IN]
    ).order_by()


def _late_people(
    visits: QuerySet[Visit], salon: Salon, at: dt.datetime
) -> "QuerySet[VisitFigures]":
    """Return who is overdue of those with one entry, by their latest visit."""
    joined = Client.objects.filter(merged_into=OuterRef("visit__client"))
    late = _late_figures(visits, salon, at)
    return late.filter(~Exists(joined), visit__client__merged_into__isnull=True)


def _rows(figures: "QuerySet[VisitFigures]") -> list[_Late]:
    rows: QuerySet[Any, Any] = figures.annotate(
        person=person.id_through("visit__client"),
        # A redone colour is no visit of its own in the rhythm.
        counted_at=Coalesce("visit__corrects__opened_at", "opened_at"),
    ).order_by("opened_at")
    return [
        (pk, counted, due, agreed is not None)
        for pk, counted, due, agreed in rows.values_list(
            "person", "counted_at", "due_on", "visit__next_visit_date"
        )
    ]


def _late_of_several(visits: QuerySet[Visit], salon: Salon, at: dt.datetime) -> list[_Late]:
    """Return who is overdue of those with several entries, which count as one."""
    merged = Client.objects.filter(salon=salon, merged_into__isnull=False)
    entries = dict(merged.order_by().values_list("pk", "merged_into_id"))
    if not entries:
        return []
    among = [*entries, *set(entries.values())]
    coming = _coming(at).filter(client__in=among).values_list("client", flat=True)
    booked = {entries.get(pk, pk) for pk in coming}
    latest: dict[int, dt.datetime] = {}
    came = visits.filter(client__in=among).order_by().values_list("client", "opened_at")
    for pk, moment in came:
        own = entries.get(pk, pk)
        latest[own] = max(moment, latest.get(own, moment))
    late = _late_figures(visits, salon, at).filter(visit__client__in=among)
    wanted = [
        figures
        for figures, pk, moment in late.values_list("pk", "visit__client", "opened_at")
        if (own := entries.get(pk, pk)) not in booked and latest[own] == moment
    ]
    return _rows(VisitFigures.objects.filter(pk__in=wanted))


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
