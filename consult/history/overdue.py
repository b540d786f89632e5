"""Who comes how often, and who is overdue with nothing booked."""

import datetime as dt
from bisect import bisect
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, pairwise
from statistics import median
from typing import Any

from django.db.models import Count, Q, QuerySet
from django.db.models.functions import Coalesce

from clients.models import Appointment, Client
from clients.models import Status as Booking
from clients.people import person
from consult.history import completeness
from consult.history.intervals import usual
from consult.models import Status, Visit, VisitFigures
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

    From what visits keep; where one that counts keeps nothing, from every visit of the years
    looked back at.
    """
    since = dt.datetime.combine(first, dt.time(), tzinfo=salon.zone)
    since = max(since, at - dt.timedelta(days=LOOKED_BACK_DAYS))
    expected = at - dt.timedelta(days=EXPECTED_DAYS)
    if completeness.all_keep(salon=salon, since=min(since, expected)):
        return _kept(salon=salon, since=since, last=last, at=at, most=most)
    found = _from_visits(salon=salon, first=first, last=last, at=at)
    return replace(found, overdue=found.overdue[:most])


def _kept(
    *, salon: Salon, since: dt.datetime, last: dt.date, at: dt.datetime, most: int | None
) -> Rhythm:
    until = dt.datetime.combine(last + dt.timedelta(days=1), dt.time(), tzinfo=salon.zone)
    days = _counted_by(
        "days_since",
        VisitFigures.objects.filter(
            salon=salon, days_since__isnull=False, opened_at__gte=since, opened_at__lt=until
        ),
    )
    late = _late_people(salon, at)
    entries = _joined(salon)
    by_due = _late_by_due(salon, at, entries)
    together = _late_of_several(salon, at, entries)
    if most is not None and by_due:
        # Of those due on the last day listed, the names decide: all of them are read. By their
        # ids: PostgreSQL would read the visits of a year again.
        due = _due_figures(salon, at).filter(due_on__lte=_due_of(by_due, most))
        late = late.filter(pk__in=list(due.values_list("pk", flat=True)))
    found = _named([*(_rows(late) if by_due else []), *together], salon, at)
    return Rhythm(
        _median_weeks(days),
        sum(days.values()),
        found[:most],
        sum(by_due.values()) + len(together),
    )


def _counted_by(name: str, figures: "QuerySet[VisitFigures]") -> dict[Any, int]:
    """Return how many figures hold each value of a column, the smallest value first."""
    return dict(figures.order_by(name).values_list(name).annotate(Count("pk")))


def _joined(salon: Salon) -> dict[int, Any]:
    """Return the entries that were joined to others, by which."""
    joined = Client.objects.filter(salon=salon, merged_into__isnull=False)
    return dict(joined.order_by().values_list("pk", "merged_into_id"))


def _late_by_due(salon: Salon, at: dt.datetime, entries: dict[int, Any]) -> dict[dt.date, int]:
    """Return how many of those with one entry are overdue, by when they were due.

    All that are due are counted from an index, then the few that are not late are taken off:
    only their visits are read.
    """
    due = _due_figures(salon, at)
    other = set(_coming(salon, at).values_list("client", flat=True))
    other |= {*entries, *entries.values()}
    not_late = _counted_by("due_on", due.filter(visit__client__in=other)) if other else {}
    left = {day: n - not_late.get(day, 0) for day, n in _counted_by("due_on", due).items()}
    return {day: n for day, n in left.items() if n}


def _due_of(by_due: Mapping[dt.date, int], most: int) -> dt.date:
    """Return when the last of so many, the longest overdue first, was due."""
    reached = zip(by_due, accumulate(by_due.values()), strict=True)
    every = sum(by_due.values())
    return next((due for due, n in reached if n >= min(most, every)), dt.date.min)


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


def _due_figures(salon: Salon, at: dt.datetime) -> "QuerySet[VisitFigures]":
    """Return the visits of a year whose next one is due and, as they keep it, did not come."""
    return VisitFigures.objects.filter(
        salon=salon,
        is_followed=False,
        due_on__lt=at.astimezone(salon.zone).date(),
        opened_at__gte=at - dt.timedelta(days=EXPECTED_DAYS),
    )


def _late_figures(salon: Salon, at: dt.datetime) -> "QuerySet[VisitFigures]":
    """Return the latest visits of entries that are due and have nothing booked."""
    return _due_figures(salon, at).filter(
        ~Q(visit__client__in=_coming(salon, at).values("client")),
        # The same of the visit: else PostgreSQL goes through the visits of all years.
        visit__salon=salon,
        visit__status=Status.CLOSED,
        visit__opened_at__gte=at - dt.timedelta(days=EXPECTED_DAYS),
    )


def _coming(salon: Salon, at: dt.datetime) -> QuerySet[Appointment]:
    return Appointment.objects.filter(
        salon=salon, starts_at__gte=at, status__in=[Booking.BOOKED, Booking.CHECKED_IN]
    ).order_by()


def _late_people(salon: Salon, at: dt.datetime) -> "QuerySet[VisitFigures]":
    """Return who is overdue of those with one entry, by their latest visit."""
    # One list of the few that were joined, instead of a look at each one's entry.
    joined = Client.objects.filter(salon=salon, merged_into__isnull=False).order_by()
    return _late_figures(salon, at).filter(
        ~Q(visit__client__in=joined.values("pk")),
        ~Q(visit__client__in=joined.values("merged_into")),
    )


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


def _late_of_several(salon: Salon, at: dt.datetime, entries: dict[int, Any]) -> list[_Late]:
    """Return who is overdue of those with several entries, which count as one."""
    if not entries:
        return []
    among = [*entries, *set(entries.values())]
    coming = _coming(salon, at).filter(client__in=among).values_list("client", flat=True)
    booked = {entries.get(pk, pk) for pk in coming}
    latest: dict[int, dt.datetime] = {}
    visits = Visit.objects.closed().filter(client__in=among)
    came = visits.filter(opened_at__gte=at - dt.timedelta(days=EXPECTED_DAYS)).order_by()
    for pk, moment in came.values_list("client", "opened_at"):
        own = entries.get(pk, pk)
        latest[own] = max(moment, latest.get(own, moment))
    late = _late_figures(salon, at).filter(visit__client__in=among)
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
