"""Booking sees the day: which starts fit, the visits for a test, the household, the head."""

import datetime as dt
from collections.abc import Callable
from typing import Any
from urllib.parse import quote

import pytest
from django.test import Client as Browser

from clients import selectors
from clients.models import Appointment, Chair, Client, Household, Service
from clients.services import BookingRefused, book_appointment, book_with_test
from formulas.models import ProductLine
from salon.models import Salon, Staff
from tests.clients.conftest import TODAY, at_clock
from tests.factories.clients import (
    ChairFactory,
    ClientFactory,
    PatchTestFactory,
    ReadingFactory,
    ServiceFactory,
)
from tests.typed import Booker, Query

pytestmark = pytest.mark.usefixtures("clock")

TWO_ON, THREE_ON, SIX_ON = (TODAY + dt.timedelta(days=ahead) for ahead in (2, 3, 6))
NEXT_WEEK = TODAY + dt.timedelta(days=7)


@pytest.fixture
def starts(salon: Salon, person: Client) -> Callable[..., dict[str, list[str]]]:
    """Return a function that gives the starts of a day by stylist, as clock times."""

    def starts(
        service: Service, *, day: dt.date = TODAY, line: ProductLine | None = None,
        chair: Chair | None = None
    ) -> dict[str, list[str]]:  # fmt: skip
        shown = selectors.booking_day(
            salon=salon,
            client=person,
            service=service,
            line=line,
            chair=chair,
            day=day,
            at=at_clock(10),
        )
        return {
            column.stylist.display_name: [
                one.starts_at.astimezone(salon.zone).strftime("%H:%M") for one in own
            ]
            for column, own in shown.columns
        }

    return starts


@pytest.fixture
def fill(
    salon: Salon, cut: Service, stylist: Staff, receptionist: Staff, now: dt.datetime
) -> Booker:
    def fill(start: dt.datetime, **given: Any) -> Appointment:
        usual = {
            "client": ClientFactory(salon=salon), "service": cut, "stylist": stylist,
            "starts_at": start, "by": receptionist, "at": now,
        }  # fmt: skip
        return book_appointment(**{**usual, **given})

    return fill


def test_every_start_that_is_drawn_would_be_taken_and_no_other(
    starts: Callable[..., dict[str, list[str]]], fill: Booker,
    stylist: Staff, second_stylist: Staff, salon: Salon
) -> None:  # fmt: skip
    """A cut of 45 minutes beside one of 30 at 11:00, 10 to 19 o'clock."""
    fill(at_clock(11))
    long = ServiceFactory(salon=salon, application_minutes=45)

    found = starts(long)

    assert found[stylist.display_name][:3] == ["10:00", "10:15", "11:30"]
    assert found[stylist.display_name][-1] == "18:15"
    assert found[second_stylist.display_name][:6] == [
        "10:00", "10:15", "10:30", "10:45", "11:00", "11:15",
    ]  # fmt: skip


def test_a_taken_chair_and_the_clients_own_diary_leave_no_start(
    *, starts: Callable[..., dict[str, list[str]]], fill: Booker,
    cut: Service, person: Client, salon: Salon, second_stylist: Staff
) -> None:  # fmt: skip
    window = ChairFactory(salon=salon)
    fill(at_clock(11), chair=window)
    fill(at_clock(15), client=person)

    found = starts(cut, chair=window)[second_stylist.display_name]

    assert "10:45" not in found
    assert "11:00" not in found
    assert "11:30" in found
    assert "15:00" not in found


def test_no_start_comes_before_a_test_could_be_read(
    starts: Callable[..., dict[str, list[str]]], tone: Service, line: ProductLine,
    stylist: Staff
) -> None:  # fmt: skip
    """Now is Wednesday 10:00; 48 hours make Friday 10:00."""
    thursday = starts(tone, line=line, day=TODAY + dt.timedelta(days=1))
    friday = starts(tone, line=line, day=TODAY + dt.timedelta(days=2))

    assert thursday[stylist.display_name] == []
    assert friday[stylist.display_name][0] == "10:00"


def test_a_clear_test_opens_today_and_a_reaction_no_day_at_all(
    *, starts: Callable[..., dict[str, list[str]]], tone: Service, line: ProductLine,
    person: Client, stylist: Staff, salon: Salon
) -> None:  # fmt: skip
    old = at_clock(9) - dt.timedelta(days=9)
    test = PatchTestFactory(client=person, line=line, applied_at=old)
    ReadingFactory(test=test)
    assert starts(tone, line=line)[stylist.display_name]

    ReadingFactory(test=test, outcome="reaction", read_at=old + dt.timedelta(days=4))
    shown = selectors.booking_day(
        salon=salon, client=person, service=tone, line=line, chair=None, day=NEXT_WEEK,
        at=at_clock(10),
    )  # fmt: skip
    assert shown.count == 0
    assert "reacted" in shown.forbidden[0]


def test_the_panel_follows_the_form(
    *, desk: Browser, person: Client, cut: Service, tone: Service, line: ProductLine,
    stylist: Staff
) -> None:  # fmt: skip
    ask: Query = {"client": person.pk, "service": cut.pk, "day": "2026-03-12"}
    plain = desk.get("/appointments/new/day/", ask).text
    colour = desk.get(
        "/appointments/new/day/", {**ask, "service": tone.pk, "line": line.pk}
    ).text

    assert 'data-time="09:00"' in plain
    assert 'data-time="09:00"' not in colour
    assert "Earliest colour: Fri 13 Mar, 10:00" in colour
    assert 'data-pick-day="2026-04-23"' in plain


@pytest.mark.parametrize(
    "odd",
    [
        {"service": "x"},
        {"day": "2026-99-99"},
        {"line": "1e9"},
        {"chair": "²"},
        {"time": "25:00"},
    ],
)
def test_odd_values_draw_what_can_be_drawn(
    desk: Browser, person: Client, cut: Service, odd: dict[str, str]
) -> None:
    ask: Query = {"client": person.pk, "service": cut.pk, "day": "2026-03-12", **odd}

    assert desk.get("/appointments/new/day/", ask).status_code == 200
    assert desk.get("/appointments/new/tests/", ask).status_code == 200


def test_colour_and_both_visits_are_booked_in_one_go(
    *, desk: Browser, person: Client, tone: Service, line: ProductLine, salon: Salon,
    stylist: Staff
) -> None:  # fmt: skip
    visit = ServiceFactory(
        salon=salon, name="Patch test", application_minutes=15, is_patch_test=True
    )
    ask: Query = {
        "client": person.pk, "service": tone.pk, "line": line.pk, "day": "2026-03-18",
        "time": "11:00", "stylist": stylist.pk,
    }  # fmt: skip
    offered = desk.get("/appointments/new/tests/", ask).text
    assert "Book both patch-test visits too" in offered

    answer = desk.post(
        "/appointments/new/",
        {**ask, "with_test": "on", "place_at": f"2026-03-12T10:00Z {stylist.pk}",
         "read_at": f"2026-03-16T10:00Z {stylist.pk}"},
    )  # fmt: skip

    assert answer.status_code == 302
    days = [
        (one.service, one.starts_at.day) for one in Appointment.objects.order_by("starts_at")
    ]
    assert days == [(visit, 12), (visit, 16), (tone, 18)]


@pytest.mark.parametrize(
    ("place", "read", "why"),
    [
        (at_clock(11, day=SIX_ON), at_clock(9, day=NEXT_WEEK), "48 hours before"),
        (at_clock(11, day=TWO_ON), at_clock(11, day=THREE_ON), "not earlier"),
        (at_clock(11), at_clock(12, day=NEXT_WEEK), "before the colour starts"),
    ],
)  # fmt: skip
def test_visits_that_could_not_make_a_valid_test_book_nothing(
    *, person: Client, tone: Service, line: ProductLine, stylist: Staff, receptionist: Staff,
    place: dt.datetime, read: dt.datetime, why: str
) -> None:  # fmt: skip
    ServiceFactory(salon=stylist.salon, application_minutes=15, is_patch_test=True)

    with pytest.raises(BookingRefused, match=why):
        book_with_test(
            client=person, service=tone, line=line, stylist=stylist,
            starts_at=at_clock(11, day=NEXT_WEEK), place=(place, stylist), read=(read, stylist),
            by=receptionist, at=at_clock(10),
        )  # fmt: skip
    assert not Appointment.objects.exists()


def test_the_household_is_booked_one_after_the_other(
    desk: Browser, person: Client, salon: Salon, cut: Service, stylist: Staff
) -> None:
    home = Household.objects.create(salon=salon, formed_at=at_clock(9))
    daughter = ClientFactory(salon=salon, name="Ada Adichie", household=home)
    person.household = home
    person.save()
    assert "Book, then Ada Adichie" in desk.get(f"/appointments/new/?client={person.pk}").text

    answer = desk.post(
        "/appointments/new/",
        {"client": person.pk, "service": cut.pk, "stylist": stylist.pk, "day": "2026-03-12",
         "time": "15:00", "then": daughter.pk},
    )  # fmt: skip

    known = f"client={daughter.pk}&stylist={stylist.pk}&day=2026-03-12&time=15:30"
    assert answer["Location"] == f"/appointments/new/?{known}"


def test_a_stranger_is_never_the_next_of_the_household(
    desk: Browser, person: Client, salon: Salon, cut: Service, stylist: Staff
) -> None:
    answer = desk.post(
        "/appointments/new/",
        {"client": person.pk, "service": cut.pk, "stylist": stylist.pk, "day": "2026-03-12",
         "time": "15:00", "then": ClientFactory(salon=salon).pk},
    )  # fmt: skip

    assert answer["Location"] == f"/appointments/{Appointment.objects.get().pk}/"


def test_a_client_added_from_the_head_keeps_day_time_and_name(
    desk: Browser, stylist: Staff
) -> None:
    page = desk.get(f"/appointments/new/?day=2026-03-12&time=15:00&stylist={stylist.pk}").text
    book = f"day=2026-03-12&time=15%3A00&stylist={stylist.pk}"
    assert f'href="/clients/new/?book={quote(book, safe="")}"' in page

    form = desk.get("/clients/new/", {"name": "Zoë Groß", "book": book})
    assert "Zoë Groß" in form.text
    added = desk.post(
        f"/clients/new/?book={book.replace('&', '%26').replace('=', '%3D')}",
        {"name": "Zoë Groß", "contact_by": "email"},
    )
    assert added["Location"].startswith("/appointments/new/?day=2026-03-12")


def test_a_date_is_jumped_to(desk: Browser) -> None:
    assert desk.get("/day/?date=2026-04-22")["Location"] == "/day/2026-04-22/"
    assert desk.get("/day/?date=soon")["Location"] == "/day/"
