"""The thin path through the pages: find or register, book, place, read, check in."""

import datetime as dt
from typing import Any

import pytest
import time_machine
from django.test import Client as Browser

from clients.models import Appointment, Client, PatchTest, PatchTestReading, Service, Status
from formulas.models import ProductLine
from salon.models import Staff
from tests.clients.conftest import TODAY, at_clock
from tests.factories.clients import (
    AppointmentFactory,
    PatchTestFactory,
    ReadingFactory,
)
from tests.typed import SignIn


def booking(
    client: Client, tone: Service, line: ProductLine, stylist: Staff, **changed: Any
) -> dict[str, object]:
    return {
        "client": client.pk,
        "service": tone.pk,
        "line": line.pk,
        "stylist": stylist.pk,
        "day": "2026-03-13",
        "time": "15:00",
        **changed,
    }


@pytest.fixture
def given(
    person: Client, tone: Service, line: ProductLine, stylist: Staff
) -> dict[str, object]:
    return booking(person, tone, line, stylist)


def test_the_whole_path(  # noqa: PLR0917
    client_for: SignIn,
    receptionist: Staff,
    tone: Service,
    line: ProductLine,
    stylist: Staff,
    clock: time_machine.Traveller,
) -> None:
    desk = client_for(receptionist)
    registered = desk.post(
        "/clients/new/",
        {
            "name": "Ngozi Adichie-Okonkwo",
            "phone": "0117 496 0101",
            "birth_date": "1988-04-12",
            "contact_by": "email",
        },
    )
    client = Client.objects.get()
    assert registered.headers["Location"] == f"/clients/{client.pk}/"
    assert str(client.phone) == "+441174960101"

    booked = desk.post("/appointments/new/", booking(client, tone, line, stylist))
    one = Appointment.objects.get()
    page = desk.get(booked.headers["Location"]).text
    assert "Colour cannot start" in page
    assert "No patch test on record" in page

    desk.post(
        f"/clients/{client.pk}/patch-tests/place/",
        {"health_consent": "on", "line": line.pk, "site": "behind_left_ear", "batch": "B-2291"},
    )
    test = PatchTest.objects.get()
    assert (test.batch, test.applied_at) == ("B-2291", at_clock(10))

    clock.move_to(at_clock(10, 5, day=TODAY + dt.timedelta(days=2)))
    desk = client_for(receptionist)  # the session of two days ago has ended
    early = desk.post(f"/appointments/{one.pk}/check-in/")
    assert early.status_code == 409
    assert "look at the site and record what you see" in early.text

    desk.post(f"/patch-tests/{test.pk}/read/", {"outcome": "no_reaction"})
    assert PatchTestReading.objects.get().read_at == at_clock(10, 5, day=dt.date(2026, 3, 13))

    done = desk.post(f"/appointments/{one.pk}/check-in/")
    one.refresh_from_db()
    assert done.status_code == 302
    assert one.status == Status.CHECKED_IN


@pytest.mark.usefixtures("clock")
def test_a_refused_check_in_names_the_next_possible_time(
    desk: Browser, person: Client, tone: Service, line: ProductLine
) -> None:
    one = AppointmentFactory(client=person, service=tone, line=line, starts_at=at_clock(11))

    response = desk.post(f"/appointments/{one.pk}/check-in/")

    assert response.status_code == 409
    assert "Next possible time: Friday 13 March, 10:00." in response.text
    assert "A licensed professional decides" in response.text


@pytest.mark.usefixtures("clock")
def test_from_the_day_a_refused_check_in_leads_to_the_appointment(
    desk: Browser, person: Client, tone: Service, line: ProductLine
) -> None:
    one = AppointmentFactory(client=person, service=tone, line=line, starts_at=at_clock(11))

    response = desk.post(f"/appointments/{one.pk}/check-in/", headers={"HX-Request": "true"})

    assert response.headers["HX-Redirect"] == f"/appointments/{one.pk}/"


@pytest.mark.usefixtures("clock")
def test_from_the_day_a_check_in_brings_the_day_back(
    desk: Browser, person: Client, cut: Service
) -> None:
    one = AppointmentFactory(client=person, service=cut, starts_at=at_clock(11))

    response = desk.post(f"/appointments/{one.pk}/check-in/", headers={"HX-Request": "true"})

    assert "is checked in" in response.text
    assert 'id="day"' in response.text


@pytest.mark.usefixtures("clock")
@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"day": "2026-03-10"}, "This time has passed"),
        ({"time": "18:30"}, "open from 09:00 to 19:00"),
        ({"time": "15:03"}, "multiple of five minutes"),
        ({"time": "25:00"}, "Enter a valid time"),
        ({"day": "nonsense"}, "Enter a valid date"),
        ({"day": "9999-01-01"}, "Check the year"),
        ({"line": ""}, "Choose the line"),
        ({"service": "999999"}, "Select a valid choice"),
        ({"every_weeks": "6", "count": "40"}, "less than or equal to 12"),
        ({"day": "2026-03-29", "time": "01:30"}, "this time does not exist"),
    ],
)
def test_bad_bookings_come_back_with_what_was_typed(
    desk: Browser, given: dict[str, object], changed: dict[str, str], message: str
) -> None:
    response = desk.post("/appointments/new/", {**given, **changed})

    assert response.status_code == 422
    assert message in response.text
    assert not Appointment.objects.exists()


@pytest.mark.usefixtures("clock")
def test_an_overlap_is_told_and_nothing_is_booked(
    desk: Browser, person: Client, tone: Service, line: ProductLine, stylist: Staff
) -> None:
    given = booking(person, tone, line, stylist)
    desk.post("/appointments/new/", given)

    response = desk.post("/appointments/new/", given)

    assert response.status_code == 422
    assert "is busy at 15:00" in response.text
    assert 'id="booking-day"' in response.text  # the times that fit, drawn beside the form
    assert Appointment.objects.count() == 1


@pytest.mark.usefixtures("clock")
def test_a_double_click_books_once(
    desk: Browser, person: Client, tone: Service, line: ProductLine, stylist: Staff
) -> None:
    given = booking(person, tone, line, stylist, once="8f7f2a36-6f4a-4a4e-9a35-0f7a5f6d9a10")

    first = desk.post("/appointments/new/", given)
    second = desk.post("/appointments/new/", given)

    assert first.headers["Location"] == second.headers["Location"]
    assert Appointment.objects.count() == 1


@pytest.mark.usefixtures("clock")
def test_repeats_are_booked_together(
    desk: Browser, person: Client, tone: Service, line: ProductLine, stylist: Staff
) -> None:
    desk.post(
        "/appointments/new/",
        booking(person, tone, line, stylist, every_weeks="6", count="3"),
    )

    assert Appointment.objects.count() == 3


@pytest.mark.usefixtures("clock")
def test_a_test_in_the_future_is_refused_beside_its_field(
    desk: Browser, person: Client, line: ProductLine
) -> None:
    response = desk.post(
        f"/clients/{person.pk}/patch-tests/place/",
        {
            "health_consent": "on",
            "line": line.pk,
            "site": "behind_left_ear",
            "batch": "B-1",
            "applied_at": "2026-03-12T10:00",
        },
    )

    assert response.status_code == 422
    assert "is in the future" in response.text
    assert not PatchTest.objects.exists()


@pytest.mark.usefixtures("clock")
@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"outcome": "no_reaction"}, "Too early to be clear"),
        ({"outcome": "reaction"}, "Describe what you see"),
        ({"outcome": "fine"}, "Select a valid choice"),
        ({}, "This field is required"),
    ],
)
def test_bad_readings_are_refused(
    desk: Browser,
    person: Client,
    line: ProductLine,
    given: dict[str, object] | dict[str, str],
    message: str,
) -> None:
    test = PatchTestFactory(client=person, line=line, applied_at=at_clock(9))

    response = desk.post(f"/patch-tests/{test.pk}/read/", given)

    assert response.status_code == 422
    assert message in response.text
    assert not PatchTestReading.objects.exists()


@pytest.mark.usefixtures("clock")
def test_a_late_reaction_blocks_and_puts_up_an_alert(
    desk: Browser, person: Client, line: ProductLine
) -> None:
    test = PatchTestFactory(
        client=person, line=line, applied_at=at_clock(9) - dt.timedelta(days=9)
    )
    ReadingFactory(test=test)

    desk.post(f"/patch-tests/{test.pk}/read/", {"outcome": "reaction", "signs": "rash, day 5"})

    page = desk.get(f"/clients/{person.pk}/").text
    assert "Reacted: no colour" in page
    assert "Reacted to a patch test" in page


@pytest.mark.usefixtures("clock")
def test_the_slip_says_what_to_watch_for_and_whom_to_call(
    desk: Browser, person: Client, line: ProductLine
) -> None:
    person.salon.phone = "+353 1 555 0100"
    person.salon.save()
    test = PatchTestFactory(client=person, line=line, applied_at=at_clock(9))

    page = desk.get(f"/patch-tests/{test.pk}/slip/").text

    for words in (
        "behind the left ear", "Friday 13 March 2026, 09:00", "+353 1 555 0100",
        "see a doctor or pharmacist", "emergency number", "authorities advise a test each time",
    ):  # fmt: skip
        assert words in page


@pytest.mark.usefixtures("clock")
def test_safety_answers_asked_at_the_desk_are_kept(desk: Browser, person: Client) -> None:
    from clients.skin_test.safety import QUESTIONS

    given = {q.key: "no" for q in QUESTIONS if not q.may_be_skipped}
    given["health_consent"] = "on"
    refused = desk.post(f"/clients/{person.pk}/safety/", {**given, "scalp": ""})
    kept = desk.post(f"/clients/{person.pk}/safety/", {**given, "black_henna": "yes"})

    assert refused.status_code == 422
    assert "Ask this question before colour" in refused.text
    assert kept.status_code == 302
    answers = {a.question: a.answer for a in person.safety_answers.all()}
    assert answers["black_henna"] == "yes"
    assert answers["pregnancy"] == "skipped"
