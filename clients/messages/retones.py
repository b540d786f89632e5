"""Whose next toner is due, as agreed or by their own rhythm, with nothing booked ahead."""

import datetime as dt
import statistics
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby, pairwise
from operator import itemgetter

from django.db.models import Case, Exists, F, Max, OuterRef, QuerySet, Subquery, Value, When

from clients.models import Appointment, Client, Status
from clients.people import person
from salon.models import Salon

AHEAD = dt.timedelta(days=21)
OVERDUE_FOR = dt.timedelta(days=28)
_LOOKED_BACK = dt.timedelta(days=730)
_WEEK = dt.timedelta(weeks=1)
# A rhythm needs two gaps, of a week at least each.
_FEWEST_GAPS = 2
# Clients whose visits are read together.
_PIECE = 500


@dataclass(frozen=True)
class Retone:
    """When a client is due, and after which appointment."""

    client: Client
    appointment_id: int
    at: dt.datetime


def due_retones(*, salon: Salon, at: dt.datetime) -> Iterator[Retone]:
    """Yield who is due from four weeks ago to three weeks ahead and has nothing booked.

    The database names those who may be; only of them more is read.
    """
    due = {
        client_id: (pk, moment, is_agreed)
        for client_id, pk, moment, is_agreed in (*_by_rhythm(salon, at), *_agreed(salon, at))
        if at - OVERDUE_FOR < moment <= at + AHEAD
    }
    for client_id, client in Client.objects.in_bulk(due).items():
        pk, moment, is_agreed = due[client_id]
        if person.is_root(client) and is_agreed == bool(client.retone_weeks):
            yield Retone(client, pk, moment)


# A client, their latest toner's appointment, when they are due, and whether it was agreed.
_Due = tuple[int, int, dt.datetime, bool]


def _agreed(salon: Salon, at: dt.datetime) -> Iterator[_Due]:
    clients = Client.objects.for_salon(salon).filter(retone_weeks__gt=0).order_by()
    most = clients.aggregate(most=Max("retone_weeks"))["most"]
    if not most:
        return
    since = max(at - OVERDUE_FOR - most * _WEEK, at - _LOOKED_BACK)
    agreed = _latest(salon, at, since=since).filter(client__in=clients.values("pk"))
    rows = agreed.values_list("pk", "client", "starts_at", "client__retone_weeks")
    for pk, client_id, came, weeks in sorted(rows):
        yield client_id, pk, came + (weeks or 0) * _WEEK, True


def _by_rhythm(salon: Salon, at: dt.datetime) -> Iterator[_Due]:
    # Two gaps at least are as long as the median, and all lie in the time looked back at: who
    # came last before this is due no more.
    since = at - (_LOOKED_BACK + _FEWEST_GAPS * OVERDUE_FOR) / (_FEWEST_GAPS + 1)
    own = _toners(since=at - _LOOKED_BACK).filter(client=OuterRef("client"))
    latest = _latest(salon, at, since=since).annotate(
        first=Subquery(own.order_by("starts_at").values("starts_at")[:1]),
        long_before=_long_before(at, since),
    )
    rows = latest.filter(first__lte=F("long_before")).values_list("client", flat=True)
    for client_id, came in _visits(sorted(set(rows)), at):
        weeks = interval_weeks([moment for _pk, moment in came])
        if weeks is not None:
            pk, last = came[-1]
            yield client_id, pk, last + dt.timedelta(weeks=weeks), False


def _visits(
    clients: list[int], at: dt.datetime
) -> Iterator[tuple[int, list[tuple[int, dt.datetime]]]]:
    """Yield each client with the appointments of their toners, the latest last."""
    for first in range(0, len(clients), _PIECE):
        piece = clients[first : first + _PIECE]
        toners = _toners(since=at - _LOOKED_BACK).filter(client__in=piece)
        rows = toners.order_by("client", "starts_at", "pk")
        for client_id, came in groupby(
            rows.values_list("client", "pk", "starts_at"), key=itemgetter(0)
        ):
            yield client_id, [(pk, moment) for _client, pk, moment in came]


def _toners(*, since: dt.datetime) -> QuerySet[Appointment]:
    done = Appointment.objects.filter(line__isnull=False, status=Status.DONE)
    return done.filter(starts_at__gt=since).order_by()


def _latest(salon: Salon, at: dt.datetime, *, since: dt.datetime) -> QuerySet[Appointment]:
    """Return each client's latest toner since a moment, of those with none booked ahead."""
    own = OuterRef("client")
    booked = Appointment.objects.filter(line__isnull=False, status=Status.BOOKED)
    return _toners(since=since).filter(
        # Two that begin together are both the latest: the one booked later is kept.
        ~Exists(_toners(since=since).filter(client=own, starts_at__gt=OuterRef("starts_at"))),
        ~Exists(booked.filter(client=own, starts_at__gt=at)),
        salon=salon,
    )


def _long_before(at: dt.datetime, since: dt.datetime) -> Case:
    """Return before when a client came too, if they are due by their rhythm.

    From the latest toner their median gap reaches into the time asked about, and two gaps
    that long at least lie before it. By weeks: the database compares moments, and calculates
    with none.
    """
    cases, start = [], at + AHEAD - _WEEK
    while start > since:
        gap = max(_WEEK, at - OVERDUE_FOR - start)
        cases.append(When(starts_at__gt=start - _WEEK, then=Value(start - _FEWEST_GAPS * gap)))
        start -= _WEEK
    return Case(*cases)


def interval_weeks(visits: list[dt.datetime]) -> float | None:
    """Return the weeks between a client's toners: the median of the gaps."""
    gaps = [(b - a).days / 7 for a, b in pairwise(visits)]
    gaps = [gap for gap in gaps if gap >= 1]
    return statistics.median(gaps) if len(gaps) >= _FEWEST_GAPS else None
