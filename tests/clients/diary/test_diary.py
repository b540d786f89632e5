"""Booking, moving and cancelling: what the diary accepts and what it refuses."""

import datetime as dt

import pytest
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction

from clients.models import (
    Appointment,
    AppointmentEvent,
    ClosedDay,
    OpeningHours,
    Service,
    SlotClaim,
    Status,
)
from clients.services import (
    AlreadyChecked,
    BookingRefused,
    StaleAppointment,
    cancel_appointment,
    move_appointment,
)
from formulas.models import ProductLine
from salon.models import AuditEvent, Salon, Staff
from tests.clients.conftest import TODAY, at_clock
from tests.factories.clients import ChairFactory, ClientFactory, ServiceFactory
from tests.factories.salon import SalonFactory, StaffFactory
from tests.typed import Booker

DAY = dt.timedelta(days=1)


def test_a_booking_claims_the_busy_parts_of_the_stylist(book: Booker, stylist: Staff) -> None:
    """Half an hour of application, twenty minutes of processing, 25 to finish."""
    one = book()

    taken = set(SlotClaim.objects.filter(stylist=stylist).values_list("slot_at", flat=True))
    assert len(taken) == (30 + 25) // 5
    assert at_clock(11, 25) in taken
    assert at_clock(11, 30) not in taken
    assert at_clock(11, 50) in taken
    assert one.ends_at == at_clock(12, 15)
    assert AuditEvent.objects.get().kind == "appointment booked"


def test_a_second_client_fits_into_the_gap(book: Booker, salon: Salon) -> None:
    book()
    trim = ServiceFactory(salon=salon, application_minutes=20)

    other = ClientFactory(salon=salon)
    second = book(at_clock(11, 30), service=trim, line=None, client=other)

    assert second.status == Status.BOOKED


@pytest.mark.parametrize("start", [(10, 30), (10, 50), (11, 0), (11, 25), (11, 50), (12, 10)])
def test_an_overlap_of_busy_parts_is_refused_in_clear_words(
    book: Booker, stylist: Staff, start: tuple[int, int]
) -> None:
    book()

    with pytest.raises(BookingRefused, match=f"{stylist.display_name} is busy at") as refusal:
        book(at_clock(*start))

    assert "Choose another time" in str(refusal.value)
    assert Appointment.objects.count() == 1


def test_a_chair_is_taken_for_the_whole_time(
    book: Booker, salon: Salon, second_stylist: Staff
) -> None:
    chair = ChairFactory(salon=salon, name="Window")
    book(chair=chair)

    with pytest.raises(BookingRefused, match="Window is taken at 11:30"):
        book(at_clock(11, 30), stylist=second_stylist, chair=chair)


def test_the_database_itself_refuses_a_second_claim(book: Booker, stylist: Staff) -> None:
    one = book()

    with pytest.raises(IntegrityError), transaction.atomic():
        SlotClaim.objects.create(appointment=one, stylist=stylist, slot_at=at_clock(11))


def test_a_claim_is_for_a_stylist_or_a_chair_and_never_both(
    book: Booker, salon: Salon, stylist: Staff
) -> None:
    one = book()

    with pytest.raises(IntegrityError), transaction.atomic():
        SlotClaim.objects.create(
            appointment=one,
            stylist=stylist,
            chair=ChairFactory(salon=salon),
            slot_at=at_clock(15),
        )


def test_the_past_cannot_be_booked(book: Booker) -> None:
    with pytest.raises(BookingRefused, match="has passed"):
        book(at_clock(9))


@pytest.mark.parametrize("start", [(8, 55), (18, 0), (20, 0)])
def test_outside_the_opening_hours_is_refused(book: Booker, start: tuple[int, int]) -> None:
    with pytest.raises(BookingRefused, match="open from 09:00 to 19:00"):
        book(at_clock(*start, day=TODAY + DAY))


def test_up_to_the_last_minute_is_accepted(book: Booker) -> None:
    assert book(at_clock(17, 45)).ends_at == at_clock(19)


def test_a_weekday_may_have_hours_of_its_own(book: Booker, salon: Salon) -> None:
    OpeningHours.objects.create(
        salon=salon, weekday=3, opens_at=dt.time(12), closes_at=dt.time(21)
    )
    OpeningHours.objects.create(
        salon=salon, weekday=4, is_open=False, opens_at=dt.time(9), closes_at=dt.time(19)
    )

    with pytest.raises(BookingRefused, match="open from 12:00 to 21:00"):
        book(at_clock(11, day=TODAY + DAY))
    assert book(at_clock(19, 30, day=TODAY + DAY)).status == Status.BOOKED
    with pytest.raises(BookingRefused, match="closed on this day"):
        book(at_clock(11, day=TODAY + 2 * DAY))


def test_a_closed_day_is_closed(book: Booker, salon: Salon) -> None:
    ClosedDay.objects.create(salon=salon, date=TODAY + DAY)

    with pytest.raises(BookingRefused, match="closed on this day"):
        book(at_clock(11, day=TODAY + DAY))


def test_times_between_five_minutes_are_refused(book: Booker) -> None:
    with pytest.raises(BookingRefused, match="multiple of five minutes"):
        book(at_clock(11, 3))


def test_colour_needs_its_line(book: Booker) -> None:
    with pytest.raises(BookingRefused, match="product line"):
        book(line=None)


def test_a_cut_is_booked_without_a_line_and_refused_with_one(
    book: Booker, cut: Service, line: ProductLine
) -> None:
    with pytest.raises(BookingRefused, match="uses no colour"):
        book(service=cut, line=line)

    assert book(service=cut, line=None).line is None


@pytest.mark.parametrize("what", ["client", "stylist", "service", "chair"])
def test_nothing_of_another_salon_can_be_booked(book: Booker, what: str) -> None:
    salon = SalonFactory()
    strange = {
        "client": ClientFactory,
        "stylist": StaffFactory,
        "service": ServiceFactory,
        "chair": ChairFactory,
    }[what](salon=salon)

    with pytest.raises(PermissionDenied, match="another salon"):
        book(**{what: strange})


def test_moving_frees_the_old_time_and_takes_the_new(
    book: Booker, receptionist: Staff, stylist: Staff, now: dt.datetime
) -> None:
    one = book()

    move_appointment(
        appointment=one, starts_at=at_clock(15), stylist=stylist, by=receptionist, at=now
    )

    assert one.starts_at == at_clock(15)
    assert book().status == Status.BOOKED
    with pytest.raises(BookingRefused):
        book(at_clock(15))


def test_a_move_by_five_minutes_does_not_clash_with_itself(
    book: Booker, receptionist: Staff, stylist: Staff, now: dt.datetime
) -> None:
    one = book()

    move_appointment(
        appointment=one, starts_at=at_clock(11, 5), stylist=stylist, by=receptionist, at=now
    )

    assert one.starts_at == at_clock(11, 5)


def test_a_refused_move_leaves_everything_as_it_was(
    book: Booker, receptionist: Staff, stylist: Staff, now: dt.datetime
) -> None:
    one = book()
    book(at_clock(15))

    with pytest.raises(BookingRefused):
        move_appointment(
            appointment=one, starts_at=at_clock(15), stylist=stylist, by=receptionist, at=now
        )

    one.refresh_from_db()
    assert one.starts_at == at_clock(11)
    assert one.claims.count() == 11


def test_the_second_of_two_desks_that_move_is_told(
    book: Booker, receptionist: Staff, stylist: Staff, now: dt.datetime
) -> None:
    one = book()
    move_appointment(
        appointment=one, starts_at=at_clock(15), stylist=stylist, by=receptionist, at=now
    )

    with pytest.raises(StaleAppointment, match="now at Wed 11 Mar, 15:00"):
        move_appointment(
            appointment=one,
            starts_at=at_clock(16),
            stylist=stylist,
            by=receptionist,
            at=now,
            expected_version=1,
        )


def test_cancelling_frees_the_time_and_keeps_the_reason(
    book: Booker, receptionist: Staff, now: dt.datetime
) -> None:
    one = book()

    cancel_appointment(appointment=one, reason="ill", by=receptionist, at=now)

    assert one.status == Status.CANCELLED
    assert not SlotClaim.objects.exists()
    assert [event.reason for event in one.events.all()] == ["", "ill"]
    assert book().status == Status.BOOKED


def test_someone_did_not_come_only_after_the_start(
    book: Booker, receptionist: Staff, now: dt.datetime
) -> None:
    one = book()

    with pytest.raises(BookingRefused, match="Cancel it instead"):
        cancel_appointment(
            appointment=one, reason="-", by=receptionist, at=now, did_not_come=True
        )
    cancel_appointment(
        appointment=one, reason="-", by=receptionist, at=at_clock(11, 20), did_not_come=True
    )

    assert one.status == Status.NO_SHOW


def test_what_is_cancelled_cannot_be_moved(
    book: Booker, receptionist: Staff, stylist: Staff, now: dt.datetime
) -> None:
    one = book()
    cancel_appointment(appointment=one, reason="ill", by=receptionist, at=now)

    with pytest.raises(AlreadyChecked, match="already cancelled"):
        move_appointment(
            appointment=one, starts_at=at_clock(15), stylist=stylist, by=receptionist, at=now
        )


def test_a_failed_audit_takes_the_booking_back(
    book: Booker, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*args: object, **kwargs: object) -> None:
        raise RuntimeError

    monkeypatch.setattr("salon.audit.record_event", fail)

    with pytest.raises(RuntimeError):
        book()
    assert not Appointment.objects.exists()
    assert not SlotClaim.objects.exists()


@pytest.mark.parametrize(
    ("kind", "says_when"), [("", True), ("moved", True), ("ended", False), ("late", False)]
)
def test_the_history_says_when_only_of_what_sets_it(kind: str, says_when: bool) -> None:
    assert AppointmentEvent(kind=kind).sets_start is says_when
