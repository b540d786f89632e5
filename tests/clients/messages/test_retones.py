"""Whose next toner is due: the database's choice beside the rule as it is said."""

import datetime as dt
import statistics
from itertools import pairwise
from random import Random

import pytest

from clients.messages.retones import due_retones
from clients.models import Appointment, Client, Service, Status
from formulas.models import ProductLine
from salon.models import Salon, Staff
from tests.factories.clients import AppointmentFactory, ClientFactory
from tests.factories.salon import StaffFactory

DAY = dt.timedelta(days=1)
Found = set[tuple[int, int, dt.datetime]]


def _by_the_rule(salon: Salon, at: dt.datetime) -> Found:
    """Read everybody's two years and say who is due."""
    found = set()
    for client in Client.objects.filter(salon=salon, merged_into=None):
        toners = client.appointments.filter(line__isnull=False)
        done = toners.filter(status=Status.DONE, starts_at__gt=at - 730 * DAY)
        came = list(done.order_by("starts_at", "pk"))
        weeks = client.retone_weeks or _median([one.starts_at for one in came])
        if not came or not weeks or toners.filter(status="booked", starts_at__gt=at).exists():
            continue
        due = came[-1].starts_at + dt.timedelta(weeks=weeks)
        if at - 28 * DAY < due <= at + 21 * DAY:
            found.add((client.pk, came[-1].pk, due))
    return found


def _median(came: list[dt.datetime]) -> float | None:
    gaps = [(after - before).days for before, after in pairwise(came)]
    gaps = [days for days in gaps if days >= 7]
    return statistics.median(gaps) / 7 if len(gaps) >= 2 else None


def _found(salon: Salon, at: dt.datetime) -> Found:
    return {
        (retone.client.pk, retone.appointment_id, retone.at)
        for retone in due_retones(salon=salon, at=at)
    }


@pytest.fixture
def toner(salon: Salon, stylist: Staff, tone: Service, line: ProductLine) -> Appointment:
    """An appointment to copy."""
    one = ClientFactory(salon=salon)
    return AppointmentFactory(
        client=one, stylist=stylist, service=tone, line=line, status=Status.DONE,
        starts_at=dt.datetime(2020, 1, 1, 10, tzinfo=dt.UTC),
    )  # fmt: skip


def _copies(toner: Appointment, client: Client, moments: list[dt.datetime]) -> None:
    rows, stylist = [], StaffFactory(salon=client.salon)
    for moment in moments:
        row = Appointment.objects.get(pk=toner.pk)
        row.pk, row.client, row.stylist = None, client, stylist
        row.place_at(moment)
        rows.append(row)
    Appointment.objects.bulk_create(rows)


@pytest.mark.parametrize("seed", range(4))
def test_the_database_finds_the_same_clients_as_the_rule(
    seed: int, salon: Salon, now: dt.datetime, toner: Appointment
) -> None:
    dice = Random(seed)  # noqa: S311  made-up visits, no secret
    people: list[Client] = []
    for _ in range(90):
        person = ClientFactory(
            salon=salon,
            retone_weeks=dice.choice([None, None, None, 6, 52]),
            merged_into=dice.choice([None, None, None, *people[:1]]),
        )
        people.append(person)
        gap, moment = dice.choice([3, 10, 28, 56, 120, 240]), now + dice.uniform(-300, 1) * DAY
        moments = []
        for _ in range(dice.randrange(8)):
            moments.append(moment)
            moment -= gap * dice.choice([0.1, 0.8, 1, 1, 1.3, 4]) * DAY
        _copies(toner, person, moments)
    ahead = Appointment.objects.filter(client__in=people[::7])
    ahead.update(status=Status.BOOKED)

    found = [_found(salon, now + days * DAY) for days in range(-60, 400, 23)]

    assert found == [_by_the_rule(salon, now + days * DAY) for days in range(-60, 400, 23)]
    assert any(found)


@pytest.mark.parametrize(
    ("days_ago", "is_due"),
    [
        # Two gaps of 234 days, the first toner as long ago as any counts.
        ((261.5, 495.5, 729.5), True),
        ((263.5, 496.5, 729.5), False),
        # The most recent gap is the longest of three.
        ((10, 610, 640, 670), True),
        # One gap is no rhythm, nor are two of less than a week.
        ((40, 80), False),
        ((2, 8, 14), False),
        ((7, 14, 21), True),
    ],
)
def test_who_comes_seldom_is_found_as_long_as_they_are_due(
    *, days_ago: tuple[float, ...], is_due: bool, salon: Salon, now: dt.datetime,
    toner: Appointment,
) -> None:  # fmt: skip
    person = ClientFactory(salon=salon)
    _copies(toner, person, [now - days * DAY for days in days_ago])

    assert bool(_found(salon, now)) is is_due
    assert _found(salon, now) == _by_the_rule(salon, now)


def test_what_was_agreed_counts_before_the_rhythm(
    salon: Salon, now: dt.datetime, toner: Appointment
) -> None:
    person = ClientFactory(salon=salon, retone_weeks=20)
    _copies(toner, person, [now - days * DAY for days in (40, 80, 120)])

    assert _found(salon, now) == set()
    assert _found(salon, now + 90 * DAY) == _by_the_rule(salon, now + 90 * DAY) != set()


def test_another_salons_clients_are_left_out(
    salon: Salon, other_salon: Salon, now: dt.datetime, toner: Appointment
) -> None:
    person = ClientFactory(salon=salon)
    _copies(toner, person, [now - days * DAY for days in (40, 80, 120)])

    assert _found(salon, now)
    assert _found(other_salon, now) == set()
