"""Opening hours, breaks, days off, and the waiting list: services and pages."""

import datetime as dt
import re
from collections.abc import Callable
from typing import Any

import pytest
import time_machine
from django.core.exceptions import PermissionDenied
from django.test import Client as Browser

from clients.models import (
    Absence,
    Appointment,
    Client,
    ClosedDay,
    OpeningHours,
    Service,
    SlotClaim,
    Waiting,
    WaitingEntry,
)
from clients.services import (
    BookingRefused,
    NotWaiting,
    add_absence,
    add_waiting,
    book_appointment,
    close_waiting,
    remove_absence,
    set_hours,
)
from salon.models import Salon, Staff
from tests.clients.conftest import TODAY, at_clock
from tests.factories.clients import AppointmentFactory, ClientFactory
from tests.typed import SignIn, present

DAY = dt.timedelta(days=1)
TOMORROW = TODAY + DAY


pytestmark = pytest.mark.usefixtures("clock")


@pytest.fixture
def lunch(stylist: Staff, receptionist: Staff, now: dt.datetime) -> Absence:
    return add_absence(
        stylist=stylist, kind="break", first=TOMORROW, last=TOMORROW, start=dt.time(12),
        end=dt.time(13), by=receptionist, at=now,
    )[0]  # fmt: skip


@pytest.fixture
def book(
    person: Client, cut: Service, stylist: Staff, receptionist: Staff
) -> Callable[[dt.datetime], Appointment]:
    def book(start: dt.datetime) -> Appointment:
        return book_appointment(
            client=person, service=cut, stylist=stylist, starts_at=start, by=receptionist,
            at=at_clock(10),
        )  # fmt: skip

    return book


def test_nothing_is_booked_over_a_break(
    lunch: Absence, book: Callable[[dt.datetime], Appointment], stylist: Staff
) -> None:
    with pytest.raises(BookingRefused, match="is away at 12:00: break"):
        book(at_clock(11, 45, day=TOMORROW))
    book(at_clock(13, day=TOMORROW))


def test_no_break_is_put_over_a_booking(
    book: Callable[[dt.datetime], Appointment],
    stylist: Staff,
    receptionist: Staff,
    now: dt.datetime,
) -> None:
    book(at_clock(12, 30, day=TOMORROW))

    with pytest.raises(BookingRefused, match=r"Nothing was changed\. Thu 12 Mar 2026"):
        add_absence(
            stylist=stylist, kind="break", first=TOMORROW, last=TOMORROW, start=dt.time(12),
            end=dt.time(13), by=receptionist, at=now, weeks=3,
        )  # fmt: skip
    assert not Absence.objects.exists()


def test_a_removed_break_gives_the_time_back(
    lunch: Absence,
    book: Callable[[dt.datetime], Appointment],
    receptionist: Staff,
    now: dt.datetime,
) -> None:
    remove_absence(absence=lunch, by=receptionist, at=now)

    book(at_clock(12, day=TOMORROW))
    assert not SlotClaim.objects.filter(absence__isnull=False).exists()


def test_a_year_of_public_holidays_is_folded(salon: Salon, desk: Browser) -> None:
    """Five days are read at a glance; the others are there, one press away."""
    for n in range(22):
        ClosedDay.objects.create(salon=salon, date=TOMORROW + n * DAY, reason=f"Feast {n}")

    page = desk.get("/hours/").text

    folded = page[page.index("17 more closed days") :]
    folded = folded[: folded.index("</details>")]
    assert [n for n in range(22) if re.search(rf"Feast {n}\s*<", page)] == list(range(22))
    assert [n for n in range(22) if re.search(rf"Feast {n}\s*<", folded)] == list(range(5, 22))


def test_days_off_follow_the_opening_hours_and_skip_closed_days(
    salon: Salon, stylist: Staff, receptionist: Staff, now: dt.datetime
) -> None:
    ClosedDay.objects.create(salon=salon, date=TOMORROW + DAY)

    days = add_absence(
        stylist=stylist, kind="day_off", first=TOMORROW, last=TOMORROW + 2 * DAY,
        by=receptionist, at=now,
    )  # fmt: skip

    assert [one.starts_at for one in days] == [
        at_clock(9, day=TOMORROW),
        at_clock(9, day=TOMORROW + 2 * DAY),
    ]


@pytest.mark.parametrize(
    "wrong",
    [
        {"last": TODAY},
        {"start": dt.time(13), "end": dt.time(12)},
        {"start": dt.time(13)},
        {"weeks": 0},
        {"last": TOMORROW + 100 * DAY},
    ],
)
def test_an_absence_that_makes_no_sense_is_refused(
    stylist: Staff, receptionist: Staff, now: dt.datetime, wrong: dict[str, object]
) -> None:
    given: dict[str, Any] = {"first": TOMORROW, "last": TOMORROW, **wrong}

    with pytest.raises(BookingRefused):
        add_absence(stylist=stylist, kind="break", by=receptionist, at=now, **given)


def test_a_break_is_put_in_and_taken_out_on_the_page(desk: Browser, stylist: Staff) -> None:
    given = {
        "stylist": stylist.pk, "kind": "break", "first": "2026-03-12", "start": "12:00",
        "end": "13:00", "weeks": "2",
    }  # fmt: skip

    assert desk.post("/hours/away/", given).status_code == 302
    assert Absence.objects.count() == 2
    assert "break" in desk.get("/day/2026-03-12/").text
    desk.post(f"/hours/away/{present(Absence.objects.first()).pk}/remove/")
    assert Absence.objects.count() == 1
    past = desk.post("/hours/away/", {**given, "first": "2026-03-01"})
    assert past.status_code == 422
    assert "This date has passed" in past.text


def test_only_an_owner_sets_hours(receptionist: Staff, owner: Staff, now: dt.datetime) -> None:
    given: dict[str, Any] = {
        "weekday": 0,
        "is_open": False,
        "opens_at": dt.time(9),
        "closes_at": dt.time(17),
    }

    with pytest.raises(PermissionDenied):
        set_hours(by=receptionist, at=now, **given)
    set_hours(by=owner, at=now, **given)
    set_hours(by=owner, at=now, **{**given, "is_open": True})

    assert OpeningHours.objects.get().is_open


def test_the_owner_closes_and_opens_a_day_on_the_page(client_for: SignIn, owner: Staff) -> None:
    boss = client_for(owner)

    boss.post("/hours/closed/", {"date": "2026-12-25", "reason": "Christmas"})
    boss.post("/hours/closed/", {"date": "2026-12-25", "reason": "again"})
    assert "Christmas" in boss.get("/hours/").text
    boss.post(f"/hours/closed/{ClosedDay.objects.get().pk}/open/")

    assert not ClosedDay.objects.exists()
    wrong = boss.post(
        "/hours/set/",
        {"weekday": 1, "is_open": "on", "opens_at": "12:00", "closes_at": "09:00"},
    )
    assert wrong.status_code == 422
    assert "later than opening" in wrong.text


@pytest.fixture
def waiting(
    person: Client, cut: Service, receptionist: Staff, now: dt.datetime
) -> WaitingEntry:
    return add_waiting(
        client=person, service=cut, line=None, stylist=None, note="", by=receptionist, at=now,
        from_date=TODAY, until_date=TODAY + 7 * DAY,
    )  # fmt: skip


def test_a_wish_is_put_on_the_list_on_the_page(
    desk: Browser, person: Client, cut: Service, tone: Service
) -> None:
    given = {
        "client": person.pk, "service": cut.pk, "from_date": "2026-03-11",
        "until_date": "2026-03-20",
    }  # fmt: skip

    assert desk.post("/waiting/new/", given).status_code == 302
    assert person.name in desk.get("/waiting/").text
    for wrong, message in (
        ({"until_date": "2026-03-01"}, "before the first day"),
        ({"service": tone.pk}, "Choose the line"),
    ):
        response = desk.post("/waiting/new/", {**given, **wrong})
        assert response.status_code == 422
        assert message in response.text


def test_booking_from_the_list_closes_the_wish(
    desk: Browser, waiting: WaitingEntry, stylist: Staff
) -> None:
    desk.post(
        f"/appointments/new/?waiting={waiting.pk}",
        {
            "client": waiting.client_id, "service": waiting.service_id,
            "stylist": stylist.pk, "day": "2026-03-12", "time": "15:00",
        },
    )  # fmt: skip

    waiting.refresh_from_db()
    assert waiting.status == Waiting.BOOKED
    assert present(waiting.appointment).starts_at == at_clock(15, day=TOMORROW)


def test_a_wish_is_taken_off_once(
    waiting: WaitingEntry, receptionist: Staff, now: dt.datetime
) -> None:
    close_waiting(entry=waiting, by=receptionist, at=now)

    with pytest.raises(NotWaiting):
        close_waiting(entry=waiting, by=receptionist, at=now)


def test_a_cancelled_time_names_who_waits_for_it(
    desk: Browser, waiting: WaitingEntry, salon: Salon, cut: Service
) -> None:
    one = AppointmentFactory(
        client=ClientFactory(salon=salon), service=cut, starts_at=at_clock(15)
    )

    response = desk.post(f"/appointments/{one.pk}/cancel/", {"reason": "ill"}, follow=True)

    assert f"\u2068{waiting.client.name}\u2069 is waiting for a time like this" in response.text


def test_a_passed_wish_is_no_longer_shown(
    desk: Browser,
    waiting: WaitingEntry,
    clock: time_machine.Traveller,
    client_for: SignIn,
    receptionist: Staff,
) -> None:
    clock.move_to(at_clock(10, day=TODAY + 9 * DAY))

    assert waiting.client.name not in client_for(receptionist).get("/waiting/").text
