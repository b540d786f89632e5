"""Reads of the front desk; everything a page needs is fetched here, never in a template."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

import phonenumbers
from django.conf import settings
from django.db.models import Q, QuerySet
from django.utils import timezone

from clients.models import (
    Appointment,
    Chair,
    Client,
    ClientAlert,
    PatchTest,
    PatchTestReading,
    ReadingOutcome,
    SafetyAnswer,
    Service,
    Status,
)
from clients.models.client import searchable
from clients.opening import day_bounds
from clients.patch_state import Code, PatchState, patch_states
from formulas.models import ProductLine
from salon.models import Policy, Salon, Staff
from salon.selectors import policy_in_force

MOST_FOUND = 20


def find_clients(*, salon: Salon, text: str) -> QuerySet[Client]:
    """Return clients by the start of any of their names, by phone or by e-mail."""
    clients = Client.objects.for_salon(salon)
    wanted = searchable(text)
    if not wanted:
        return clients[:MOST_FOUND]
    matches = Q()
    for word in wanted.split():
        matches &= Q(search_name__startswith=word) | Q(search_name__contains=f" {word}")
    phone = _phone(text)
    if phone:
        matches |= Q(phone__contains=phone)
    if "@" in text:
        matches |= Q(email__istartswith=text.strip())
    return clients.filter(matches)[:MOST_FOUND]


def _phone(text: str) -> str:
    """Return the digits of a phone number as they are stored, or nothing."""
    digits = "".join(c for c in text if c.isdigit())
    if len(digits) < 4:
        return ""
    try:
        number = phonenumbers.parse(text, settings.PHONENUMBER_DEFAULT_REGION)
        return str(number.national_number)
    except phonenumbers.NumberParseException:
        return digits


def services_offered(*, salon: Salon) -> QuerySet[Service]:
    """Return what can be booked."""
    return Service.objects.filter(salon=salon, is_active=True)


def chairs_in_use(*, salon: Salon) -> QuerySet[Chair]:
    """Return the chairs that can be booked."""
    return Chair.objects.filter(salon=salon, is_active=True)


def lines_in_use(*, salon: Salon) -> QuerySet[ProductLine]:
    """Return the lines that a colour service can be booked with."""
    return ProductLine.objects.filter(salon=salon, is_active=True)


def alerts_in_force(*, client: Client) -> list[ClientAlert]:
    """Return alerts that no later row lifts."""
    alerts = ClientAlert.objects.filter(
        client=client, lifted_by__isnull=True, lifts__isnull=True
    )
    return list(alerts.select_related("recorded_by"))


def safety_answers_in_force(*, client: Client) -> dict[str, SafetyAnswer]:
    """Return the latest answer to each question."""
    answers = SafetyAnswer.objects.filter(client=client).order_by("answered_at", "pk")
    return {answer.question: answer for answer in answers.select_related("answered_by")}


def day_appointments(*, salon: Salon, day: dt.date) -> list[Appointment]:
    """Return a day's appointments that take up time, in order."""
    start, end = day_bounds(salon=salon, day=day)
    appointments = Appointment.objects.for_salon(salon).for_show().standing()
    return list(appointments.filter(starts_at__gte=start, starts_at__lt=end))


def todays_clients(*, stylist: Staff, day: dt.date) -> list[Appointment]:
    """Return one stylist's appointments of a day."""
    return [
        one
        for one in day_appointments(salon=stylist.salon, day=day)
        if one.stylist_id == stylist.pk
    ]


def states_of(
    appointments: Iterable[Appointment], *, at: dt.datetime, policy: Policy | None = None
) -> dict[int, PatchState]:
    """Return the patch state of each colour appointment as of its start, by appointment id.

    A test that will have run out by then is shown as run out, one that is clear now and
    then as clear.
    """
    coloured = [one for one in appointments if one.line_id]
    states: dict[int, PatchState] = {}
    # A client with two appointments of one line on one page: each has its own moment.
    rest = coloured
    while rest:
        batch: dict[tuple[int, int], Appointment] = {}
        later = []
        for one in rest:
            pair = (one.client_id, one.line_id or 0)
            if pair in batch:
                later.append(one)
            else:
                batch[pair] = one
        found = patch_states(
            [(one.client, one.line) for one in batch.values() if one.line],
            at=at,
            policy=policy,
            moments={pair: max(at, one.starts_at) for pair, one in batch.items()},
        )
        states.update({one.pk: found[pair] for pair, one in batch.items()})
        rest = later
    return states


def client_states(*, client: Client, at: dt.datetime) -> list[tuple[ProductLine, PatchState]]:
    """Return the client's patch state for every line in use."""
    lines = list(lines_in_use(salon=client.salon).select_related("salon"))
    states = patch_states([(client, line) for line in lines], at=at)
    return [(line, states[client.pk, line.pk]) for line in lines]


def patch_history(*, client: Client) -> QuerySet[PatchTest]:
    """Return every test of a client with its readings, latest first."""
    tests = PatchTest.objects.filter(client=client).select_related("line", "applied_by")
    return tests.prefetch_related("readings__read_by")


def upcoming(*, client: Client, at: dt.datetime) -> QuerySet[Appointment]:
    """Return what the client has booked from now on."""
    booked = Appointment.objects.filter(client=client, ends_at__gte=at).for_show()
    return booked.filter(status__in=[Status.BOOKED, Status.CHECKED_IN, Status.IN_SERVICE])


@dataclass(frozen=True)
class Entry:
    """One line of a client's timeline."""

    at: dt.datetime
    what: str
    detail: str
    by: str


def client_timeline(*, client: Client) -> list[Entry]:
    """Return what happened, latest first."""
    entries = [
        Entry(one.starts_at, one.get_status_display(), str(one.service), str(one.stylist))
        for one in Appointment.objects.filter(client=client).for_show()
    ]
    for test in patch_history(client=client):
        entries.append(
            Entry(test.applied_at, "patch test placed", f"{test.line}", str(test.applied_by))
        )
        entries += [
            Entry(r.read_at, f"patch test: {r.get_outcome_display()}", r.signs, str(r.read_by))
            for r in test.readings.all()
        ]
    for alert in ClientAlert.objects.filter(client=client).select_related("recorded_by"):
        entries.append(
            Entry(
                alert.recorded_at, alert.get_kind_display(), alert.text, str(alert.recorded_by)
            )
        )
    return sorted(entries, key=lambda entry: entry.at, reverse=True)


@dataclass(frozen=True)
class Work:
    """What the desk has to do about one client's test."""

    client: Client
    line: ProductLine
    state: PatchState
    appointment: Appointment | None


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
            starts_at__gte=at,
            starts_at__lt=at + dt.timedelta(weeks=6),
        )
    )
    states = states_of(ahead, at=at, policy=policy)
    work: dict[str, list[Work]] = {"to_place": [], "to_read": [], "runs_out": []}
    for one in ahead:
        state = states[one.pk]
        if one.line is None:
            continue
        item = Work(one.client, one.line, state, one)
        if state.code in {Code.NONE, Code.VOID}:
            work["to_place"].append(item)
        elif state.code is Code.EXPIRED:
            work["runs_out"].append(item)
    unread = (
        PatchTest.objects.filter(
            client__salon=salon, applied_at__gte=at - dt.timedelta(weeks=2), applied_at__lte=at
        )
        .exclude(readings__outcome__in=ReadingOutcome.values)
        .select_related("client", "line")
        .order_by("applied_at")
    )
    for test in unread:
        readable = test.applied_at + dt.timedelta(hours=policy.patch_read_hours)
        code = Code.READY if readable <= at else Code.WAITING
        state = PatchState(code, at, test, readable)
        work["to_read"].append(Work(test.client, test.line, state, None))
    return work


def latest_reading(*, test: PatchTest) -> PatchTestReading | None:
    """Return what was last seen of a test."""
    return test.readings.select_related("read_by").order_by("read_at", "pk").last()


def today(*, salon: Salon, at: dt.datetime) -> dt.date:
    """Return the date on the salon's calendar."""
    return timezone.localtime(at, salon.zone).date()
