"""Ways out of a shut gate, free times, walk-ins, and chairs on the page."""

import datetime as dt
from collections.abc import Callable

import pytest
import time_machine
from django.test import Client as Browser
from pytest_django import DjangoAssertNumQueries

from clients.diary import free_time
from clients.models import Appointment, Client, ReadingOutcome, Service
from clients.services import add_absence, book_appointment
from clients.skin_test import offer as patch_offer
from formulas.models import ProductLine
from salon.models import Salon, Staff
from tests.clients.conftest import TODAY, at_clock
from tests.factories.clients import (
    AppointmentFactory,
    ChairFactory,
    ClientFactory,
    PatchTestFactory,
    ReadingFactory,
    ServiceFactory,
)
from tests.typed import SignIn, present

DAY = dt.timedelta(days=1)


pytestmark = pytest.mark.usefixtures("clock")


@pytest.fixture
def visit(salon: Salon) -> Service:
    return ServiceFactory(
        salon=salon, name="Test visit", application_minutes=10, is_patch_test=True
    )


@pytest.fixture
def booked(
    person: Client, tone: Service, line: ProductLine, stylist: Staff
) -> Callable[[dt.datetime], Appointment]:
    def booked(start: dt.datetime) -> Appointment:
        return AppointmentFactory(
            client=person, service=tone, line=line, stylist=stylist, starts_at=start
        )

    return booked


def test_a_visit_for_the_test_is_offered_48_hours_before_at_the_latest(
    booked: Callable[[dt.datetime], Appointment], visit: Service, now: dt.datetime
) -> None:
    offer = present(patch_offer.offer_for(booked(now + 4 * DAY), at=now))

    assert offer.latest_at == now + 2 * DAY
    assert offer.service == visit
    assert [s.starts_at for s in offer.visits] == [
        now,
        at_clock(9, day=TODAY + DAY),
        at_clock(9, day=TODAY + 2 * DAY),
    ]


def test_too_early_a_date_gets_the_first_possible_times(
    booked: Callable[[dt.datetime], Appointment], now: dt.datetime
) -> None:
    offer = present(patch_offer.offer_for(booked(now + DAY), at=now))

    assert offer.possible_at == now + 2 * DAY
    assert offer.later[0].starts_at == now + 2 * DAY
    assert offer.visits == []


def test_nothing_is_offered_after_a_reaction(
    booked: Callable[[dt.datetime], Appointment],
    person: Client,
    line: ProductLine,
    now: dt.datetime,
) -> None:
    test = PatchTestFactory(client=person, line=line, applied_at=now - 5 * DAY)
    ReadingFactory(test=test, outcome=ReadingOutcome.REACTION)

    assert patch_offer.offer_for(booked(now + 4 * DAY), at=now) is None


def test_a_service_without_colour_needs_no_way_to_a_test(
    person: Client, cut: Service, stylist: Staff, now: dt.datetime
) -> None:
    one = AppointmentFactory(client=person, service=cut, stylist=stylist, starts_at=now + DAY)

    assert patch_offer.offer_for(one, at=now) is None


def test_a_test_under_way_that_is_in_time_needs_no_other_visit(
    booked: Callable[[dt.datetime], Appointment],
    visit: Service,
    person: Client,
    line: ProductLine,
    now: dt.datetime,
) -> None:
    PatchTestFactory(client=person, line=line, applied_at=now - DAY)

    assert patch_offer.offer_for(booked(now + DAY), at=now) is None
    assert present(patch_offer.offer_for(booked(now + DAY / 2), at=now)).later


def test_a_salon_that_books_no_test_visits_still_says_by_when_to_place_it(
    booked: Callable[[dt.datetime], Appointment], now: dt.datetime
) -> None:
    offer = present(patch_offer.offer_for(booked(now + 4 * DAY), at=now))

    assert offer.latest_at == now + 2 * DAY
    assert (offer.service, offer.visits) == (None, [])


def test_an_offered_visit_is_booked_from_the_page(
    client_for: SignIn,
    receptionist: Staff,
    booked: Callable[[dt.datetime], Appointment],
    visit: Service,
) -> None:
    one = booked(at_clock(10, day=TODAY + 4 * DAY))
    desk = client_for(receptionist)

    page = desk.get(f"/appointments/{one.pk}/").text

    assert "The test must be placed by Friday 13 March, 10:00." in page
    assert f"service={visit.pk}" in page


def test_too_early_an_appointment_is_moved_in_one_click(
    client_for: SignIn, receptionist: Staff, booked: Callable[[dt.datetime], Appointment]
) -> None:
    one = booked(at_clock(10, day=TODAY + DAY))
    desk = client_for(receptionist)
    page = desk.get(f"/appointments/{one.pk}/").text
    assert "Too early: colour is possible from Friday 13 March, 10:00. Move it to:" in page

    desk.post(
        f"/appointments/{one.pk}/move/",
        {"version": 1, "stylist": one.stylist_id, "day": "2026-03-13", "time": "10:00"},
    )

    one.refresh_from_db()
    assert one.starts_at == at_clock(10, day=TODAY + 2 * DAY)


def test_free_times_respect_bookings_breaks_gaps_and_hours(
    person: Client, tone: Service, line: ProductLine, stylist: Staff, receptionist: Staff
) -> None:
    salon, now = person.salon, at_clock(10)
    book_appointment(
        client=person, service=tone, line=line, stylist=stylist, starts_at=at_clock(11),
        by=receptionist, at=now,
    )  # fmt: skip
    add_absence(
        stylist=stylist, kind="break", first=TODAY, last=TODAY, start=dt.time(13),
        end=dt.time(18), by=receptionist, at=now,
    )  # fmt: skip
    trim = ServiceFactory(salon=salon, application_minutes=20)

    slots = free_time.free_between(
        salon=salon, service=trim, stylists=[stylist], start=now, end=at_clock(23)
    )

    clocks = [s.starts_at.astimezone(salon.zone).strftime("%H:%M") for s in slots]
    assert clocks == [
        "10:00",
        "10:15",
        "10:30",
        "11:30",
        "12:15",
        "12:30",
        "18:00",
        "18:15",
        "18:30",
    ]


def test_free_times_cost_three_queries(
    salon: Salon,
    tone: Service,
    stylist: Staff,
    now: dt.datetime,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    # claims, closed days, hours
    with django_assert_num_queries(3):
        free_time.free_between(
            salon=salon, service=tone, stylists=[stylist], start=now, end=now + 20 * DAY
        )


def test_the_nearest_times_stand_around_the_wanted_one(
    salon: Salon, tone: Service, stylist: Staff, now: dt.datetime
) -> None:
    slots = free_time.nearest(
        salon=salon, at=now, service=tone, stylist=stylist, wanted_at=at_clock(15)
    )

    assert [s.starts_at for s in slots] == [
        at_clock(14, 30), at_clock(14, 45), at_clock(15), at_clock(15, 15),
    ]  # fmt: skip


def test_a_walk_in_is_booked_for_now(
    desk: Browser, person: Client, cut: Service, stylist: Staff, clock: time_machine.Traveller
) -> None:
    clock.move_to(at_clock(10, 3))

    page = desk.get(f"/appointments/new/?client={person.pk}&walk_in=1").text
    assert 'name="time" value="10:00"' in page
    desk.post(
        "/appointments/new/",
        {"client": person.pk, "service": cut.pk, "stylist": stylist.pk, "day": "2026-03-11",
         "time": "10:00", "is_walk_in": "True"},
    )  # fmt: skip

    one = Appointment.objects.get()
    assert one.is_walk_in
    assert "walk-in" in desk.get(f"/appointments/{one.pk}/").text


def test_a_taken_chair_is_told(
    desk: Browser, person: Client, cut: Service, stylist: Staff, second_stylist: Staff
) -> None:
    chair = ChairFactory(salon=person.salon, name="Window")
    given = {
        "client": person.pk, "service": cut.pk, "stylist": stylist.pk, "chair": chair.pk,
        "day": "2026-03-11", "time": "15:00",
    }  # fmt: skip

    desk.post("/appointments/new/", given)
    clash = desk.post("/appointments/new/", {**given, "stylist": second_stylist.pk})

    assert clash.status_code == 422
    assert "Window is taken at 15:00" in clash.text


def test_the_form_starts_from_what_the_client_had_last(
    client_for: SignIn, receptionist: Staff, salon: Salon
) -> None:
    from clients.models import Status

    client = ClientFactory(salon=salon)
    usual = ServiceFactory(salon=salon, name="Usual")
    ServiceFactory(salon=salon, name="Another")
    AppointmentFactory(
        client=client, service=usual, status=Status.DONE, starts_at=at_clock(9) - 40 * DAY
    )

    page = client_for(receptionist).get(f"/appointments/new/?client={client.pk}").text

    assert f'<option value="{usual.pk}" selected>Usual</option>' in page
