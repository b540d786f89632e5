"""What to offer when the gate is shut: a time for a patch test, or a later one for colour."""

import datetime as dt
from dataclasses import dataclass, field

from clients.diary import free_time
from clients.diary.free_time import Slot
from clients.models import Appointment, Service
from clients.skin_test.gate import colour_gate
from clients.skin_test.state import Code
from salon.selectors import columns, policy_in_force

_MOST = 4
_SEARCH = dt.timedelta(days=21)


@dataclass(frozen=True)
class Offer:
    """Ways out of a shut gate.

    `latest_at` is the last moment at which a test placed still leaves its lead; `visits`
    are free times for one before that. Where it is too late, `later` holds free times for
    the appointment itself, from `possible_at` on.
    """

    latest_at: dt.datetime | None = None
    service: Service | None = None
    visits: list[Slot] = field(default_factory=list)
    possible_at: dt.datetime | None = None
    later: list[Slot] = field(default_factory=list)


def offer_for(appointment: Appointment, *, at: dt.datetime) -> Offer | None:
    """Return what can be offered, or None where colour is out of the question."""
    if appointment.line is None:
        return None
    gate = colour_gate(
        client=appointment.client, line=appointment.line, at=at, appointment=appointment
    )
    possible = gate.next_possible_at
    if gate.is_open or gate.is_forbidden or possible is None:
        return None
    if possible > appointment.starts_at:
        return _later(appointment, possible)
    if gate.state.code in {Code.NONE, Code.VOID, Code.EXPIRED}:
        return _visits(appointment, at)
    return None


def _later(appointment: Appointment, possible: dt.datetime) -> Offer:
    slots = free_time.free_between(
        salon=appointment.salon,
        service=appointment.service,
        stylists=[appointment.stylist],
        start=possible,
        end=possible + _SEARCH,
    )
    later = free_time.first_of_each_day(slots, appointment.salon, _MOST)
    return Offer(possible_at=possible, later=later)


def _visits(appointment: Appointment, at: dt.datetime) -> Offer:
    salon = appointment.salon
    policy = policy_in_force(salon=salon)
    latest = appointment.starts_at - policy.wait
    service = Service.objects.filter(salon=salon, is_patch_test=True, is_active=True).first()
    if service is None:
        return Offer(latest_at=latest)
    slots = free_time.free_between(
        salon=salon,
        service=service,
        stylists=list(columns(salon=salon)),
        start=max(at, latest - _SEARCH),
        end=latest,
    )
    visits = free_time.first_of_each_day(slots, salon, _MOST)
    return Offer(latest_at=latest, service=service, visits=visits)
