"""The call list: who is on it, what to say, and that the outcome stays."""

import datetime as dt
from typing import Any

import pytest
from django.test import Client as Browser

from clients import selectors
from clients.messages.channels import EmailChannel
from clients.models import Appointment, ClientCall, Reminder, ReminderStatus
from clients.services import queue_reminders, send_reminders
from formulas.models import ProductLine
from salon.models import Salon
from tests.clients.conftest import TODAY, at_clock
from tests.factories.clients import AppointmentFactory, ClientFactory, ToneFactory
from tests.typed import Booker

pytestmark = pytest.mark.usefixtures("clock")

TOMORROW = TODAY + dt.timedelta(days=1)


@pytest.fixture
def booked(salon: Salon) -> Booker:
    """Return a function that books a cut tomorrow at 15:00 for somebody."""

    def booked(**client: Any) -> Appointment:
        who = ClientFactory(salon=salon, **client)
        return AppointmentFactory(client=who, starts_at=at_clock(15, day=TOMORROW))

    return booked


def names(salon: Salon) -> list[str]:
    return [line.client.name for line in selectors.call_list(salon=salon, at=at_clock(10))]


def test_who_prefers_the_phone_or_has_no_address_is_called(
    salon: Salon, booked: Booker
) -> None:
    booked(name="Phone", contact_by="phone", email="p@example.com")
    booked(name="No address")
    booked(name="Mail", email="m@example.com")
    booked(name="Nothing", contact_by="nothing")

    assert sorted(names(salon)) == ["No address", "Phone"]


def test_a_mail_that_failed_is_called(salon: Salon, booked: Booker) -> None:
    booked(name="Mail", email="m@example.com")
    queue_reminders(salon=salon, at=at_clock(10))
    Reminder.objects.update(status=ReminderStatus.FAILED)

    assert names(salon) == ["Mail"]


def test_who_must_come_in_for_a_test_is_called_whatever_else_they_get(
    salon: Salon, line: ProductLine
) -> None:
    client = ClientFactory(salon=salon, name="Untested", email="u@example.com")
    AppointmentFactory(
        client=client, service=ToneFactory(salon=salon), line=line,
        starts_at=at_clock(15, day=TODAY + dt.timedelta(days=4)),
    )  # fmt: skip

    line_of_list = selectors.call_list(salon=salon, at=at_clock(10))[0]

    assert line_of_list.client == client
    assert "short skin test" in line_of_list.script
    assert "Friday 13 March, 15:00" in line_of_list.script


def test_by_phone_never_reads_no_address(salon: Salon, booked: Booker) -> None:
    booked(name="Phone", contact_by="phone", email="p@example.com")
    queue_reminders(salon=salon, at=at_clock(10))
    send_reminders(salon=salon, at=at_clock(10), channel=EmailChannel())

    assert Reminder.objects.get().why == "prefers a call: on the call list"


def test_the_outcome_is_kept_and_confirmed_marks_the_visit(
    desk: Browser, booked: Booker
) -> None:
    one = booked(name="Phone", contact_by="phone", phone="+353 1 555 0123")
    page = desk.get("/calls/").text
    assert 'href="tel:+353-1-555-0123"' in page
    key = selectors.call_list(salon=one.salon, at=at_clock(10))[0].occasion.key

    desk.post("/calls/record/", {"key": key, "outcome": "no_answer"})
    assert "1 call to make" in desk.get("/calls/").text
    desk.post("/calls/record/", {"key": key, "outcome": "confirmed"})

    one.refresh_from_db()
    assert one.confirmed_at is not None
    assert "0 calls to make" in desk.get("/calls/").text
    assert [call.outcome for call in ClientCall.objects.all()] == ["no_answer", "reached"]


def test_a_call_that_is_not_on_the_list_is_not_kept(desk: Browser, booked: Booker) -> None:
    booked(name="Mail", email="m@example.com")

    assert desk.post("/calls/record/", {"key": "x:1", "outcome": "reached"}).status_code == 404
    assert desk.post("/calls/record/", {"key": "", "outcome": "?"}).status_code == 302
    assert not ClientCall.objects.exists()


def test_tomorrows_reminders_are_looked_at_before_they_go(
    desk: Browser, salon: Salon, booked: Booker
) -> None:
    late = ClientFactory(salon=salon, name="Day after", email="d@example.com")
    AppointmentFactory(client=late, starts_at=at_clock(15, day=TODAY + dt.timedelta(days=3)))
    booked(name="By phone", contact_by="phone")

    page = desk.get("/reminders/").text

    coming = page.split('id="coming"')[1].split('id="lately"')[0]
    assert "Day after" in coming
    assert "Your appointment on Saturday 14 March, 15:00" in coming
    assert "prefers a call" in coming


def test_another_salon_is_called_by_its_own_desk(desk: Browser, other_salon: Salon) -> None:
    one = ClientFactory(salon=other_salon, name="Elsewhere", contact_by="phone")
    AppointmentFactory(client=one, starts_at=at_clock(15, day=TOMORROW))

    assert "Elsewhere" not in desk.get("/calls/").text
