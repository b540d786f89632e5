"""The page of a day: what other desks changed, moving with undo, gaps, closed days."""

import re

import pytest
from django.test import Client as Browser
from pytest_django import DjangoAssertNumQueries

from clients.models import Client, Service
from formulas.models import ProductLine
from salon.models import Salon, Staff
from tests.clients.conftest import TODAY, at_clock
from tests.factories.clients import AppointmentFactory
from tests.factories.salon import StaffFactory

pytestmark = pytest.mark.usefixtures("clock")


def test_a_desk_that_has_seen_everything_gets_no_page_again(
    desk: Browser, person: Client, cut: Service, stylist: Staff
) -> None:
    first = desk.get("/day/", headers={"HX-Request": "true"})
    stamp = first.text.split("since=")[1].split('"')[0]
    same = desk.get(f"/day/?since={stamp}", headers={"HX-Request": "true"})

    booked = desk.post(
        "/appointments/new/",
        {"client": person.pk, "service": cut.pk, "stylist": stylist.pk,
         "day": "2026-03-11", "time": "15:00"},
    )  # fmt: skip
    changed = desk.get(f"/day/?since={stamp}", headers={"HX-Request": "true"})

    assert same.status_code == 204
    assert booked.status_code == 302
    assert changed.status_code == 200
    assert person.name in changed.text


def test_asking_whether_anything_changed_costs_three_queries(
    desk: Browser, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    stamp = desk.get("/day/").text.split("since=")[1].split('"')[0]

    # session, user with salon, last events
    with django_assert_num_queries(4):
        desk.get(f"/day/?since={stamp}", headers={"HX-Request": "true"})


def test_moving_from_the_day_offers_an_undo_that_works(
    desk: Browser, person: Client, cut: Service, stylist: Staff, second_stylist: Staff
) -> None:
    desk.post(
        "/appointments/new/",
        {"client": person.pk, "service": cut.pk, "stylist": stylist.pk,
         "day": "2026-03-11", "time": "15:00"},
    )  # fmt: skip
    one = person.appointments.get()
    htmx = {"HX-Request": "true"}

    moved = desk.post(
        f"/appointments/{one.pk}/move/",
        {"version": 1, "stylist": second_stylist.pk, "day": "2026-03-11", "time": "16:30"},
        headers=htmx,
    )
    assert "Undo" in moved.text
    assert f'name="stylist" value="{stylist.pk}"' in moved.text
    assert 'name="time" value="15:00"' in moved.text

    desk.post(
        f"/appointments/{one.pk}/move/",
        {"version": 2, "stylist": stylist.pk, "day": "2026-03-11", "time": "15:00"},
        headers=htmx,
    )
    one.refresh_from_db()
    assert (one.starts_at, one.stylist) == (at_clock(15), stylist)


def test_a_move_onto_another_booking_or_a_stale_one_says_so(
    desk: Browser, person: Client, cut: Service, stylist: Staff
) -> None:
    for time in ("15:00", "16:00"):
        desk.post(
            "/appointments/new/",
            {"client": person.pk, "service": cut.pk, "stylist": stylist.pk,
             "day": "2026-03-11", "time": time},
        )  # fmt: skip
    one = person.appointments.earliest("starts_at")
    target = {"stylist": stylist.pk, "day": "2026-03-11", "time": "16:15"}

    clash = desk.post(
        f"/appointments/{one.pk}/move/", {"version": 1, **target},
        headers={"HX-Request": "true"},
    )  # fmt: skip
    stale = desk.post(
        f"/appointments/{one.pk}/move/", {"version": 7, **target, "time": "17:00"},
        headers={"HX-Request": "true"},
    )  # fmt: skip

    assert clash.status_code == 422
    assert "is busy at 16:15" in clash.text
    assert stale.status_code == 409
    assert "It is now at" in stale.text


def test_a_gap_while_colour_develops_can_be_booked_from_the_day(
    desk: Browser, person: Client, line: ProductLine, tone: Service, stylist: Staff
) -> None:
    AppointmentFactory(
        client=person, service=tone, line=line, stylist=stylist, starts_at=at_clock(11)
    )

    assert "11:30 free while it develops" in desk.get("/day/").text


def test_a_closed_day_says_so_and_offers_nothing(
    desk: Browser, salon: Salon, stylist: Staff
) -> None:
    from clients.models import ClosedDay

    ClosedDay.objects.create(salon=salon, date=TODAY)

    page = desk.get("/day/").text

    assert "Closed on this day" in page
    assert not re.search(r"free\s*</a>", page)


def test_someone_who_has_left_still_shows_what_was_booked(
    desk: Browser, person: Client, cut: Service, salon: Salon
) -> None:
    gone = StaffFactory(salon=salon, has_column=False, display_name="Gone Away")
    AppointmentFactory(client=person, service=cut, stylist=gone, starts_at=at_clock(11))

    assert "Gone Away" in desk.get("/day/").text
