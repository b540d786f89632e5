"""Repeat bookings, and days on which the clocks change."""

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest

from clients.models import Appointment, Client, Service, SlotClaim
from clients.services import BookingRefused, book_appointment, book_series
from formulas.models import ProductLine
from salon.models import Salon, Staff
from tests.clients.conftest import at_clock
from tests.factories.clients import ToneFactory

DAY = dt.timedelta(days=1)


@pytest.fixture
def series(
    person: Client, line: ProductLine, tone: Service, stylist: Staff, receptionist: Staff
) -> Callable[..., list[Appointment]]:
    def series(**changed: Any) -> list[Appointment]:
        given = {
            "client": person,
            "service": tone,
            "line": line,
            "stylist": stylist,
            "starts_at": at_clock(11),
            "every_weeks": 6,
            "count": 3,
            "by": receptionist,
            "at": at_clock(10),
        }
        return book_series(**{**given, **changed})

    return series


def test_repeat_bookings_keep_the_clock_time_across_summer_time(
    series: Callable[..., list[Appointment]],
) -> None:
    """Dublin's clocks go forward on 29 March 2026."""
    booked = series()

    assert [one.starts_at for one in booked] == [
        at_clock(11),
        at_clock(11, day=dt.date(2026, 4, 22)),
        at_clock(11, day=dt.date(2026, 6, 3)),
    ]
    assert len({one.series for one in booked}) == 1


def test_repeat_bookings_are_all_made_or_none(
    series: Callable[..., list[Appointment]],
    person: Client,
    cut: Service,
    stylist: Staff,
    receptionist: Staff,
) -> None:
    book_appointment(
        client=person,
        service=cut,
        stylist=stylist,
        starts_at=at_clock(11, day=dt.date(2026, 4, 22)),
        by=receptionist,
        at=at_clock(10),
    )

    with pytest.raises(BookingRefused, match=r"Nothing was booked\. Wed 22 Apr 2026"):
        series()

    assert Appointment.objects.count() == 1


def test_a_tone_over_the_hour_that_the_clocks_skip_takes_its_real_minutes(
    salon: Salon, person: Client, stylist: Staff, receptionist: Staff, line: ProductLine
) -> None:
    """On 29 March 2026 Dublin goes from 01:00 to 02:00: 00:30 plus 75 minutes is 02:45."""
    salon.opens_at, salon.closes_at = dt.time(0, 0), dt.time(23, 55)
    salon.save()
    receptionist.salon.refresh_from_db()
    night = dt.date(2026, 3, 29)

    one = book_appointment(
        client=person,
        service=ToneFactory(salon=salon),
        line=line,
        stylist=stylist,
        starts_at=at_clock(0, 30, day=night),
        by=receptionist,
        at=at_clock(12, day=night - DAY),
    )

    assert one.ends_at == at_clock(2, 45, day=night)
    assert one.ends_at - one.starts_at == dt.timedelta(minutes=75)
    assert SlotClaim.objects.count() == 11


def test_nothing_runs_over_midnight(
    salon: Salon, person: Client, stylist: Staff, receptionist: Staff, cut: Service
) -> None:
    salon.closes_at = dt.time(23, 55)
    salon.save()
    receptionist.salon.refresh_from_db()

    with pytest.raises(BookingRefused, match="open from"):
        book_appointment(
            client=person,
            service=cut,
            stylist=stylist,
            starts_at=at_clock(23, 45),
            by=receptionist,
            at=at_clock(10),
        )
