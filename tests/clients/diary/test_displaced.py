"""A stylist is away, leaves, or the day is closed: never refused, and everyone is listed."""

import datetime as dt
from collections.abc import Callable
from functools import partial
from typing import Any

import pytest
from django.test import Client as Browser

from clients import selectors
from clients.models import Absence, Appointment, ClientCall, Service, SlotClaim
from clients.selectors.displaced import Displaced
from clients.services import (
    BookingRefused,
    add_absence,
    book_appointment,
    cancel_appointment,
    change_appointment,
    move_appointment,
    remove_absence,
)
from formulas.models import ProductLine
from salon.models import Salon, Staff
from tests.clients.conftest import TODAY, at_clock
from tests.factories.clients import ClientFactory, ServiceFactory, ToneFactory
from tests.typed import Booker, SignIn

pytestmark = pytest.mark.usefixtures("clock")

HOURS = (11, 12, 13)


@pytest.fixture
def book(
    salon: Salon, cut: Service, stylist: Staff, receptionist: Staff, now: dt.datetime
) -> Booker:
    """Return a function that books a cut for somebody new."""

    def book(hour: int, **given: Any) -> Appointment:
        usual = {
            "client": ClientFactory(salon=salon, phone="+353 1 555 0123"), "service": cut,
            "stylist": stylist, "starts_at": at_clock(hour), "by": receptionist, "at": now,
        }  # fmt: skip
        return book_appointment(**{**usual, **given})

    return book


@pytest.fixture
def booked(book: Booker) -> list[Appointment]:
    return [book(hour) for hour in HOURS]


@pytest.fixture
def away(
    booked: list[Appointment], stylist: Staff, receptionist: Staff, now: dt.datetime
) -> Absence:
    """The stylist is away today although three clients are booked."""
    return add_absence(
        stylist=stylist, kind="away", first=TODAY, last=TODAY, by=receptionist, at=now
    )[0]


@pytest.fixture
def listed(
    salon: Salon, stylist: Staff, away: Absence
) -> Callable[[dt.datetime], list[Displaced]]:
    """Return a function that reads the list as it is at a moment."""

    def listed(at: dt.datetime) -> list[Displaced]:
        return selectors.displaced(
            salon=salon, spans=[(away.starts_at, away.ends_at)], stylist=stylist,
            since=away.added_at, at=at,
        )  # fmt: skip

    return listed


def test_the_column_closes_at_once_and_the_booked_keep_their_time(
    away: Absence, booked: list[Appointment], book: Booker
) -> None:
    for hour in (10, 11, 15):
        with pytest.raises(BookingRefused, match=r"is (away|busy)"):
            book(hour)
    assert [one.claims.count() for one in booked] == [6, 6, 6]


def test_a_time_that_is_given_up_goes_to_the_absence_and_never_back(
    away: Absence,
    booked: list[Appointment],
    book: Booker,
    receptionist: Staff,
    second_stylist: Staff,
) -> None:
    at = at_clock(10, 5)
    move_appointment(
        appointment=booked[0], starts_at=at_clock(11), stylist=second_stylist,
        by=receptionist, at=at,
    )  # fmt: skip
    cancel_appointment(appointment=booked[1], reason="ill", by=receptionist, at=at)

    for hour in (11, 12):
        with pytest.raises(BookingRefused, match="is away"):
            book(hour)
    assert SlotClaim.objects.filter(absence=away).count() == 10 * 12 - 6


def test_a_note_is_still_taken_down_under_an_absence(
    away: Absence, booked: list[Appointment], cut: Service, receptionist: Staff
) -> None:
    change_appointment(
        appointment=booked[0], service=cut, line=None, chair=None, minutes=None,
        note="rings back at noon", by=receptionist, at=at_clock(10, 5),
    )  # fmt: skip

    assert booked[0].claims.count() == 6


def test_an_absence_that_is_removed_opens_the_column_and_frees_no_booking(
    away: Absence,
    booked: list[Appointment],
    book: Booker,
    receptionist: Staff,
    now: dt.datetime,
) -> None:
    remove_absence(absence=away, by=receptionist, at=now)

    assert book(15).pk
    with pytest.raises(BookingRefused, match="is busy"):
        book(11)


def test_a_second_absence_keeps_what_the_first_gives_back(
    stylist: Staff, receptionist: Staff, book: Booker, now: dt.datetime
) -> None:
    add = partial(
        add_absence, stylist=stylist, first=TODAY, last=TODAY, by=receptionist, at=now
    )
    first = add(kind="away")[0]
    add(kind="day_off")

    remove_absence(absence=first, by=receptionist, at=now)

    with pytest.raises(BookingRefused, match="is away"):
        book(11)


def test_the_list_tells_what_became_of_each(
    listed: Callable[[dt.datetime], list[Displaced]],
    booked: list[Appointment],
    receptionist: Staff,
    second_stylist: Staff,
) -> None:
    at = at_clock(10, 5)
    assert [row.outcome for row in listed(at)] == ["open"] * 3
    assert all(row.others == [second_stylist] for row in listed(at))

    move_appointment(
        appointment=booked[0], starts_at=at_clock(11), stylist=second_stylist,
        by=receptionist, at=at,
    )  # fmt: skip
    cancel_appointment(appointment=booked[1], reason="ill", by=receptionist, at=at)

    assert [row.outcome for row in listed(at)] == ["moved", "cancelled", "open"]
    assert selectors.count_open(listed(at)) == 1


def test_what_was_moved_before_the_reason_came_up_is_not_listed(
    salon: Salon, book: Booker, second_stylist: Staff, receptionist: Staff, now: dt.datetime
) -> None:
    one = book(11)
    stylist = one.stylist
    move_appointment(
        appointment=one, starts_at=at_clock(11), stylist=second_stylist, by=receptionist, at=now
    )
    later = at_clock(10, 30)
    absence = add_absence(
        stylist=stylist, kind="away", first=TODAY, last=TODAY, by=receptionist, at=later
    )[0]

    rows = selectors.displaced(
        salon=salon, spans=[(absence.starts_at, absence.ends_at)], stylist=stylist,
        since=later, at=later,
    )  # fmt: skip
    assert rows == []


def test_where_no_colleague_is_free_other_times_are_offered(
    listed: Callable[[dt.datetime], list[Displaced]],
) -> None:
    row = listed(at_clock(10, 5))[0]

    assert row.others == []
    assert len(row.later) == 3
    assert all(
        slot.starts_at >= at_clock(9, day=TODAY + dt.timedelta(days=1)) for slot in row.later
    )


def test_a_visit_for_a_test_names_the_colour_that_depends_on_it(
    listed: Callable[[dt.datetime], list[Displaced]],
    salon: Salon,
    book: Booker,
    line: ProductLine,
    booked: list[Appointment],
) -> None:
    visit = ServiceFactory(salon=salon, is_patch_test=True)
    client = ClientFactory(salon=salon)
    colour = book(
        11, client=client, service=ToneFactory(salon=salon), line=line,
        starts_at=at_clock(11, day=TODAY + dt.timedelta(days=5)),
    )  # fmt: skip
    other = booked[0]
    other.service, other.client = visit, client
    other.save()

    row = next(row for row in listed(at_clock(10, 5)) if row.appointment.pk == other.pk)
    assert row.colour == colour


def test_the_desk_marks_away_and_settles_the_list(
    desk: Browser, booked: list[Appointment], stylist: Staff, second_stylist: Staff
) -> None:
    page = desk.post(f"/day/{TODAY.isoformat()}/away/{stylist.pk}/", follow=True).text
    absence = Absence.objects.get()
    back = f"away-{absence.pk}"
    assert page.count('href="tel:') == 3
    assert "3 clients to rebook" in page

    desk.post(
        f"/appointments/{booked[0].pk}/move/",
        {"back": back, "version": 1, "stylist": second_stylist.pk, "day": "2026-03-11",
         "time": "11:00"},
    )  # fmt: skip
    desk.post(
        f"/appointments/{booked[1].pk}/call/",
        {"back": back, "reason": "away", "outcome": "no_answer"},
    )
    page = desk.post(
        f"/appointments/{booked[2].pk}/cancel/", {"back": back, "reason": "away"}, follow=True
    ).text

    assert "1 client to rebook" in page
    assert "no answer" in page
    assert ClientCall.objects.get().appointment == booked[1]
    assert f"/hours/away/{absence.pk}/" in desk.get("/day/").text
    # pressed twice: the same absence, the same list
    desk.post(f"/day/{TODAY.isoformat()}/away/{stylist.pk}/")
    assert Absence.objects.count() == 1


def test_a_refused_move_leads_back_to_the_list_and_says_why(
    desk: Browser, booked: list[Appointment], stylist: Staff
) -> None:
    desk.post(f"/day/{TODAY.isoformat()}/away/{stylist.pk}/")

    page = desk.post(
        f"/appointments/{booked[0].pk}/move/",
        {"back": f"away-{Absence.objects.get().pk}", "version": 1, "stylist": stylist.pk,
         "day": "2026-03-11", "time": "16:00"},
        follow=True,
    ).text  # fmt: skip

    assert "is away at 16:00" in page
    assert "3 clients to rebook" in page


def test_a_closed_day_and_a_leaver_have_the_same_list(
    desk: Browser, client_for: SignIn, owner: Staff, booked: list[Appointment]
) -> None:
    boss = client_for(owner)
    page = boss.post(
        "/hours/closed/", {"date": "2026-03-11", "reason": "burst pipe"}, follow=True
    )
    assert "3 clients to rebook" in page.text
    assert "Move to" not in page.text

    stylist = booked[0].stylist
    stylist.is_active = stylist.has_column = False
    stylist.save()
    assert "3 clients to rebook" in desk.get(f"/team/{stylist.pk}/booked/").text


def test_a_way_back_that_leads_elsewhere_is_not_taken(
    desk: Browser, booked: list[Appointment]
) -> None:
    answer = desk.post(
        f"/appointments/{booked[0].pk}/call/",
        {"back": "https://elsewhere.example", "reason": "away", "outcome": "reached"},
    )

    assert answer["Location"] == f"/appointments/{booked[0].pk}/"
