"""Reads across visits: the day's clients, what was promised and came out, who drifts."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db.models import Max, QuerySet

from clients.models import Appointment, Client, ClientAlert
from clients.people import person
from clients.selectors import alerts_of, day_appointments, states_of
from clients.skin_test.state import PatchState
from consult.history.visit_record import GroupRecord, VisitRecord, records_of
from consult.models import Visit
from salon.models import Salon, Staff

__all__ = [
    "ClientHistory",
    "GroupRecord",
    "Seat",
    "VisitRecord",
    "client_histories",
    "last_visits",
    "record_of",
    "records_of",
    "todays_seats",
    "toned_people",
    "tones_of",
    "unfinished",
]


def last_visits(visit: Visit, *, count: int = 3) -> list[VisitRecord]:
    """Return the client's last closed visits before this one, latest first."""
    return records_of(Visit.objects.closed_before(visit)[:count])


def tones_of(client: Client) -> QuerySet[Visit]:
    """Return every toning visit of a client, latest first; `records_of` fills them."""
    return Visit.objects.of_person(client).closed()


@dataclass(frozen=True)
class Seat:
    """One of today's appointments with the patch state and the visit that goes with it."""

    appointment: Appointment
    state: PatchState | None
    visit: Visit | None
    alerts: tuple[ClientAlert, ...] = ()


def todays_seats(
    *, salon: Salon, stylist: Staff | None, day: dt.date, at: dt.datetime, viewer: Staff
) -> list[Seat]:
    """Return the day's colour and other appointments of one stylist, or of everyone.

    Each with the alerts of its client that the viewer may see.
    """
    booked = [
        appointment
        for appointment in day_appointments(salon=salon, day=day)
        if stylist is None or appointment.stylist_id == stylist.pk
    ]
    states = states_of(booked, at=at)
    visits: dict[int, Visit] = {}
    for visit in Visit.objects.filter(appointment__in=booked).with_latest().order_by("pk"):
        visits[visit.appointment_id] = visit
    alerts = alerts_of(clients=[appointment.client for appointment in booked], viewer=viewer)
    return [
        Seat(
            appointment,
            states.get(appointment.pk),
            visits.get(appointment.pk),
            tuple(alerts.get(person.root_id(appointment.client), ())),
        )
        for appointment in booked
    ]


def unfinished(*, salon: Salon, before: dt.datetime) -> QuerySet[Visit]:
    """Return visits of earlier days that were never closed."""
    return (
        Visit.objects.for_salon(salon)
        .open()
        .filter(opened_at__lt=before)
        .for_show()
        .with_latest()
    )


@dataclass(frozen=True)
class ClientHistory:
    """How a client's tones came out, in one line."""

    client: Client
    count: int
    last_at: dt.datetime
    redone: int
    level_drift: float | None
    warmth_drift: float | None
    within: int
    seen: int


def has_closed_visits(*, salon: Salon) -> bool:
    """Return whether anybody's colour was ever finished here."""
    return Visit.objects.for_salon(salon).closed().order_by().exists()


def toned_people(*, salon: Salon) -> QuerySet[Visit, dict[str, object]]:
    """Return the ids of people with closed visits as `person`, the latest first."""
    return (
        Visit.objects.for_salon(salon)
        .closed()
        .values(person=person.id_through("client"))
        .annotate(last_closed_at=Max("closed_at"))
        .order_by("-last_closed_at", "person")
    )


def client_histories(people: Sequence[int]) -> list[ClientHistory]:
    """Return one line for each person, in the order given."""
    clients = Client.objects.in_bulk(people)
    visits = Visit.objects.closed().filter(person.named_by("client", people))
    by_person: dict[int, list[VisitRecord]] = defaultdict(list)
    for record in records_of(visits):
        by_person[person.root_id(record.visit.client)].append(record)
    return [_history(clients[own_id], by_person[own_id]) for own_id in people]


def _history(client: Client, visits: list[VisitRecord]) -> ClientHistory:
    seen = [g for record in visits for g in record.groups if g.is_comparable]
    return ClientHistory(
        client=client,
        count=len(visits),
        last_at=visits[0].visit.opened_at,
        redone=sum(record.visit.corrects_id is not None for record in visits),
        level_drift=_mean(g.level_drift for g in seen),
        warmth_drift=_mean(g.warmth_drift for g in seen),
        within=sum(g.within_range for g in seen),
        seen=len(seen),
    )


def _mean(values: Iterable[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return sum(known) / len(known) if known else None


def record_of(visit: Visit) -> VisitRecord:
    """Return one visit with its groups."""
    return records_of(Visit.objects.filter(pk=visit.pk))[0]
