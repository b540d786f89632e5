"""Occasions for a reminder: what is coming that a client would want to hear of."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from clients.messages.retones import AHEAD, OVERDUE_FOR, due_retones
from clients.models import Appointment, Client, ReminderKind, Status
from clients.selectors.diary import states_of
from clients.selectors.patch_tests import is_too_young, unread_tests
from clients.skin_test.state import Code
from salon import languages
from salon.models import Salon
from salon.selectors import policy_in_force

_READING_FOR = dt.timedelta(days=7)


@dataclass(frozen=True)
class Occasion:
    """One reason to write to one client; `key` is the same whenever it is found again."""

    kind: str
    key: str
    client: Client
    at: dt.datetime
    expires_at: dt.datetime
    values: dict[str, str]


def find_occasions(*, salon: Salon, at: dt.datetime) -> list[Occasion]:
    """Return every occasion that applies now, of all kinds."""
    booked = list(
        Appointment.objects.for_salon(salon)
        .for_show()
        .filter(status=Status.BOOKED, starts_at__gt=at, starts_at__lte=at + AHEAD)
    )
    return [
        *_appointments(salon, booked),
        *_patch_due(salon, booked, at),
        *_readings(salon, at),
        *_retones(salon, at),
    ]


def _format_time(moment: dt.datetime, salon: Salon, client: Client) -> str:
    with languages.speaking(client.speaks(salon)):
        return date_format(timezone.localtime(moment, salon.zone), _("l j F, H:i"))


def _format_day(moment: dt.datetime, salon: Salon, client: Client) -> str:
    with languages.speaking(client.speaks(salon)):
        return date_format(timezone.localtime(moment, salon.zone), _("j F"))


def _appointments(salon: Salon, booked: list[Appointment]) -> Iterator[Occasion]:
    for appointment in booked:
        yield Occasion(
            kind=ReminderKind.APPOINTMENT,
            key=f"appointment:{appointment.pk}:{appointment.starts_at:%Y%m%dT%H%M}",
            client=appointment.client,
            at=appointment.starts_at,
            expires_at=appointment.starts_at,
            values={
                "when": _format_time(appointment.starts_at, salon, appointment.client),
                "service": appointment.service.name,
                "stylist": appointment.stylist.display_name,
            },
        )


def _patch_due(salon: Salon, booked: list[Appointment], at: dt.datetime) -> Iterator[Occasion]:
    policy = policy_in_force(salon=salon)
    states = states_of(booked, at=at, policy=policy)
    for appointment in booked:
        state = states.get(appointment.pk)
        latest = appointment.starts_at - policy.wait
        wanting = state and state.code in {Code.NONE, Code.VOID, Code.EXPIRED}
        if is_too_young(appointment, policy, salon.zone):
            continue  # no test for a client whom no test would open colour to
        if wanting and latest > at:
            yield Occasion(
                kind=ReminderKind.PATCH_DUE,
                key=f"patch_due:{appointment.pk}:{appointment.starts_at:%Y%m%dT%H%M}",
                client=appointment.client,
                at=latest,
                expires_at=latest,
                values={
                    "when": _format_time(appointment.starts_at, salon, appointment.client),
                    "until": _format_time(latest, salon, appointment.client),
                },
            )


def _readings(salon: Salon, at: dt.datetime) -> Iterator[Occasion]:
    policy = policy_in_force(salon=salon)
    for test in unread_tests(salon=salon, since=at - policy.wait - _READING_FOR, at=at):
        readable = policy.readable_at(test.applied_at)
        if readable + _READING_FOR <= at:
            continue
        yield Occasion(
            kind=ReminderKind.READING_DUE,
            key=f"reading_due:{test.pk}",
            client=test.client,
            at=readable,
            expires_at=readable + _READING_FOR,
            values={"when": _format_time(readable, salon, test.client)},
        )


def _retones(salon: Salon, at: dt.datetime) -> Iterator[Occasion]:
    for retone in due_retones(salon=salon, at=at):
        yield Occasion(
            kind=ReminderKind.RETONE_DUE,
            key=f"retone_due:{retone.appointment_id}",
            client=retone.client,
            at=retone.at,
            expires_at=retone.at + OVERDUE_FOR,
            values={"when": _format_day(retone.at, salon, retone.client)},
        )
