"""What the diary shows."""

import datetime as dt
import hashlib
from collections.abc import Iterable

from django.db.models import QuerySet

from clients.diary.opening import day_bounds
from clients.models import (
    Absence,
    Appointment,
    ClosedDay,
    Status,
    Waiting,
    WaitingEntry,
)
from clients.models.appointment import AppointmentQuerySet
from clients.skin_test.state import PatchState, patch_states
from salon.models import AuditEvent, Policy, Salon, Staff

_LOOK_BACK = 20
_TICK_SECONDS = 300


def day_appointments(*, salon: Salon, day: dt.date) -> list[Appointment]:
    """Return a day's appointments that take up time, in order."""
    return list(_taking_time(salon, day, 1).for_show())


def week_appointments(*, salon: Salon, first: dt.date, days: int = 7) -> list[Appointment]:
    """Return the appointments of some days that take up time, in order.

    For a whole diary: hundreds share a few stylists and services, which are read once.
    """
    return list(_taking_time(salon, first, days).for_diary())


def _taking_time(salon: Salon, first: dt.date, days: int) -> AppointmentQuerySet:
    start, _next = day_bounds(salon=salon, day=first)
    end, _next = day_bounds(salon=salon, day=first + dt.timedelta(days=days))
    appointments = Appointment.objects.for_salon(salon).active()
    return appointments.filter(starts_at__gte=start, starts_at__lt=end)


def off_appointments(*, salon: Salon, day: dt.date) -> list[Appointment]:
    """Return a day's cancelled appointments and no-shows, in order."""
    start, end = day_bounds(salon=salon, day=day)
    rows = Appointment.objects.for_salon(salon).for_show()
    off = rows.filter(
        status__in=[Status.CANCELLED, Status.NO_SHOW], starts_at__gte=start, starts_at__lt=end
    )
    return list(off)


def open_business(*, salon: Salon, day: dt.date, most: int = 50) -> list[Appointment]:
    """Return what earlier days left open: booked, checked in or begun, and never ended."""
    start, _next = day_bounds(salon=salon, day=day)
    left = (
        Appointment.objects.for_salon(salon)
        .for_show()
        .filter(
            starts_at__lt=start,
            starts_at__gte=start - dt.timedelta(days=60),
            status__in=[Status.BOOKED, Status.CHECKED_IN, Status.IN_SERVICE],
        )
    )
    return list(left.order_by("-starts_at")[:most])


def todays_clients(*, stylist: Staff, day: dt.date) -> list[Appointment]:
    """Return one stylist's appointments of a day."""
    return [
        appointment
        for appointment in day_appointments(salon=stylist.salon, day=day)
        if appointment.stylist_id == stylist.pk
    ]


def absences_between(*, salon: Salon, start: dt.datetime, end: dt.datetime) -> list[Absence]:
    """Return breaks and days off that touch a span of time."""
    absences = Absence.objects.filter(salon=salon, starts_at__lt=end, ends_at__gt=start)
    return list(absences.select_related("stylist"))


def states_of(
    appointments: Iterable[Appointment], *, at: dt.datetime, policy: Policy | None = None
) -> dict[int, PatchState]:
    """Return the patch state of each colour appointment as of its start, by appointment id.

    A test that will have run out by then is shown as run out, one that is clear now and
    then as clear.
    """
    states: dict[int, PatchState] = {}
    # A client with two appointments of one line on one page: each has its own moment.
    rest = [appointment for appointment in appointments if appointment.line_id]
    while rest:
        batch: dict[tuple[int, int], Appointment] = {}
        later = []
        for appointment in rest:
            pair = (appointment.client_id, appointment.line_id or 0)
            if pair in batch:
                later.append(appointment)
            else:
                batch[pair] = appointment
        found = patch_states(
            [
                (appointment.client, appointment.line)
                for appointment in batch.values()
                if appointment.line
            ],
            at=at,
            policy=policy,
            moments={
                pair: max(at, appointment.starts_at) for pair, appointment in batch.items()
            },
        )
        states.update({appointment.pk: found[pair] for pair, appointment in batch.items()})
        rest = later
    return states


def change_stamp(*, salon: Salon, at: dt.datetime) -> str:
    """Return a short text that changes whenever the salon's records do.

    Every write leaves an audit event in its own transaction. The last few are looked at,
    and not only the last: a transaction that began earlier may be seen later. It also
    changes every five minutes, since states and the line of "now" move with the clock.
    """
    latest = AuditEvent.objects.filter(salon=salon).order_by("-pk")
    events = list(latest.values_list("pk", flat=True)[:_LOOK_BACK])
    tick = int(at.timestamp()) // _TICK_SECONDS
    return hashlib.sha256(repr((salon.pk, events, tick)).encode()).hexdigest()[:16]


def waiting_list(*, salon: Salon, day: dt.date) -> QuerySet[WaitingEntry]:
    """Return who waits for a time on or after a day, longest first."""
    open_now = WaitingEntry.objects.filter(
        salon=salon, status=Waiting.OPEN, until_date__gte=day
    )
    return open_now.select_related("client", "service", "line", "stylist")


def waiting_for(*, appointment: Appointment) -> list[WaitingEntry]:
    """Return who would take the time that an appointment has given back."""
    day = appointment.starts_at.astimezone(appointment.salon.zone).date()
    entries = waiting_list(salon=appointment.salon, day=day).filter(from_date__lte=day)
    return [
        entry
        for entry in entries
        if entry.stylist_id in {None, appointment.stylist_id}
        and entry.service.minutes <= appointment.service.minutes
    ]


def coming_absences(*, salon: Salon, at: dt.datetime) -> QuerySet[Absence]:
    """Return breaks and days off from now on."""
    return Absence.objects.filter(salon=salon, ends_at__gte=at).select_related("stylist")


def booked_days(closed: Iterable[ClosedDay]) -> list[ClosedDay]:
    """Return the closed days on which somebody is booked."""
    return [row for row in closed if day_appointments(salon=row.salon, day=row.date)]


def coming_closed_days(*, salon: Salon, day: dt.date) -> QuerySet[ClosedDay]:
    """Return closed days from a day on."""
    return ClosedDay.objects.filter(salon=salon, date__gte=day)
