"""Patch tests: what was placed and read, and what there is to do."""

import datetime as dt
from dataclasses import dataclass

from django.db.models import QuerySet

from clients.diary.opening import day_bounds
from clients.models import (
    Appointment,
    Client,
    PatchTest,
    PatchTestReading,
    ReadingOutcome,
    Status,
)
from clients.people import person
from clients.selectors.diary import states_of
from clients.skin_test.state import Code, PatchState
from formulas.models import ProductLine
from salon.models import Policy, Salon
from salon.numbers import row_number
from salon.selectors import policy_in_force

WEEKS_AHEAD = 6
WEEKS_BACK = 2
_LATEST_TESTS = 200  # no batch lasts longer


def unread_tests(*, salon: Salon, since: dt.datetime, at: dt.datetime) -> QuerySet[PatchTest]:
    """Return the tests placed in a time that nobody has read, with their clients.

    By the salon's own lines, whose tests have an index by time: a client's have none.
    """
    placed = PatchTest.objects.filter(
        line__salon=salon, applied_at__gte=since, applied_at__lte=at
    )
    unread = placed.exclude(readings__outcome__in=ReadingOutcome.values)
    return unread.select_related("client", "line")


def patch_history(*, client: Client) -> QuerySet[PatchTest]:
    """Return every test of a client with its readings, latest first."""
    tests = PatchTest.objects.filter(client__in=person.ids_of(client))
    return tests.select_related("line", "applied_by").prefetch_related("readings__read_by")


def latest_reading(*, test: PatchTest) -> PatchTestReading | None:
    """Return what was last seen of a test."""
    return test.readings.select_related("read_by").order_by("read_at", "pk").last()


def recent_batches(*, salon: Salon, line: str, most: int = 3) -> list[str]:
    """Return what the line was last tested with, latest first; nothing without a line."""
    number = row_number(line)
    if number is None:
        return []
    latest = PatchTest.objects.filter(line__salon=salon, line=number)
    batches = latest.order_by("-applied_at", "-pk").values_list("batch", flat=True)
    return list(dict.fromkeys(batches[:_LATEST_TESTS]))[:most]


@dataclass(frozen=True)
class Work:
    """What the desk has to do about one client's test."""

    client: Client
    line: ProductLine
    state: PatchState
    appointment: Appointment | None


def _start_of_day(salon: Salon, at: dt.datetime) -> dt.datetime:
    """Return when today began: who is late still has to be tested."""
    return day_bounds(salon=salon, day=at.astimezone(salon.zone).date())[0]


def is_too_young(appointment: Appointment, policy: Policy, zone: dt.tzinfo) -> bool:
    """Return whether the client is under the youngest age on the day: no colour, no test."""
    day = appointment.starts_at.astimezone(zone).date()
    years = person.root(appointment.client).age_on(day)
    return years is not None and years < policy.minimum_age


def patch_worklist(*, salon: Salon, at: dt.datetime) -> dict[str, list[Work]]:
    """Return who must come in for a test, whose reading is due, whose test runs out before.

    Looks six weeks ahead for appointments and two weeks back for unread tests.
    """
    policy = policy_in_force(salon=salon)
    ahead = list(
        Appointment.objects.for_salon(salon)
        .for_show()
        .filter(
            status=Status.BOOKED,
            line__isnull=False,
            starts_at__gte=_start_of_day(salon, at),
            starts_at__lt=at + dt.timedelta(weeks=WEEKS_AHEAD),
        )
    )
    states = states_of(ahead, at=at, policy=policy)
    kinds = ("to_place", "to_read", "runs_out", "reacted", "too_young", "booked")
    work: dict[str, list[Work]] = {kind: [] for kind in kinds}
    for appointment in ahead:
        state = states[appointment.pk]
        if appointment.line is None:
            continue
        item = Work(appointment.client, appointment.line, state, appointment)
        work["booked"].append(item)
        if is_too_young(appointment, policy, salon.zone):
            work["too_young"].append(item)
            continue
        if state.code in {Code.NONE, Code.VOID}:
            work["to_place"].append(item)
        elif state.code is Code.EXPIRED:
            work["runs_out"].append(item)
        elif state.code is Code.REACTED:
            work["reacted"].append(item)
    booked = {
        (appointment.client_id, appointment.line_id): appointment
        for appointment in reversed(ahead)
    }
    unread = unread_tests(salon=salon, since=at - dt.timedelta(weeks=WEEKS_BACK), at=at)
    for test in unread.order_by("applied_at"):
        readable = policy.readable_at(test.applied_at)
        code = Code.READY if readable <= at else Code.WAITING
        state = PatchState(code, at, test, readable)
        next_visit = booked.get((test.client_id, test.line_id))
        work["to_read"].append(Work(test.client, test.line, state, next_visit))
    return work
