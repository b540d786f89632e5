"""An appointment that changes: what is booked, where the client is, marks, undo."""

import datetime as dt

import pytest
import time_machine
from django.db import DatabaseError, transaction
from django.test import Client as Browser

from clients.models import Appointment, Client, Service, SlotClaim, Status
from clients.services import (
    AlreadyChecked,
    BookingRefused,
    ClientElsewhere,
    StaleAppointment,
    cancel_appointment,
    change_appointment,
    check_in,
    mark_appointment,
    move_appointment,
    restore_appointment,
)
from formulas.models import ProductLine
from salon.models import Salon, Staff
from tests.clients.conftest import TODAY, at_clock
from tests.factories.clients import ChairFactory, ClientFactory, ServiceFactory
from tests.factories.salon import SalonFactory
from tests.typed import Booker, present

pytestmark = pytest.mark.usefixtures("clock")


def test_a_longer_service_claims_its_time_and_says_what_changed(
    booked: Appointment, change: Booker, salon: Salon, stylist: Staff
) -> None:
    long = ServiceFactory(salon=salon, name="Cut and dry", application_minutes=60)

    change(service=long)

    assert booked.ends_at == at_clock(12)
    assert SlotClaim.objects.filter(stylist=stylist).count() == 12
    event = present(booked.events.order_by("pk").last())
    assert event.label == "changed"
    assert [row[0] for row in event.changes] == ["service", "length"]
    assert event.changes[0][2] == "Cut and dry"


def test_a_change_that_does_not_fit_leaves_everything_as_it_was(
    booked: Appointment, change: Booker, fill: Booker
) -> None:
    fill(starts_at=at_clock(11, 30))

    with pytest.raises(BookingRefused, match="is busy at 11:30"):
        change(minutes=60)

    booked.refresh_from_db()
    assert booked.ends_at == at_clock(11, 30)
    assert booked.events.count() == 1
    assert booked.claims.count() == 6


def test_colour_needs_its_line_and_a_cut_takes_none(
    change: Booker, tone: Service, line: ProductLine
) -> None:
    with pytest.raises(BookingRefused, match="Choose the product line"):
        change(service=tone)
    with pytest.raises(BookingRefused, match="uses no colour"):
        change(line=line)


def test_a_change_to_colour_meets_the_gate(
    booked: Appointment, change: Booker, tone: Service, line: ProductLine, receptionist: Staff
) -> None:
    from clients.services import CheckInRefused

    change(service=tone, line=line)

    with pytest.raises(CheckInRefused):
        check_in(appointment=booked, by=receptionist, at=at_clock(11))


def test_after_check_in_only_what_the_gate_did_not_ask_for_changes(
    booked: Appointment, change: Booker, line: ProductLine, tone: Service, receptionist: Staff
) -> None:
    check_in(appointment=booked, by=receptionist, at=at_clock(11))
    booked.refresh_from_db()

    with pytest.raises(AlreadyChecked, match="Undo the check-in first"):
        change(service=tone, line=line)
    change(note="wants the window")

    booked.refresh_from_db()
    assert booked.note == "wants the window"
    assert present(booked.events.order_by("pk").last()).changes == [["note", "", ""]]


def test_the_processing_time_is_never_shortened(
    change: Booker, tone: Service, line: ProductLine
) -> None:
    with pytest.raises(BookingRefused, match="At least 50 minutes"):
        change(service=tone, line=line, minutes=45)
    assert change(service=tone, line=line, minutes=60).ends_at == at_clock(12)


def test_a_moved_booking_keeps_its_own_length_and_is_called_moved(
    booked: Appointment, change: Booker, second_stylist: Staff,
    receptionist: Staff, now: dt.datetime
) -> None:  # fmt: skip
    change(minutes=45)
    stylist = booked.stylist

    move_appointment(
        appointment=booked, starts_at=at_clock(15), stylist=second_stylist, by=receptionist,
        at=now,
    )  # fmt: skip

    assert booked.ends_at == at_clock(15, 45)
    event = present(booked.events.order_by("pk").last())
    assert event.label == "moved"
    assert event.changes == [
        ["stylist", str(stylist), str(second_stylist)],
        ["time", at_clock(11).isoformat(), at_clock(15).isoformat()],
    ]


def test_a_chair_that_is_taken_is_refused(
    change: Booker, salon: Salon, fill: Booker, second_stylist: Staff
) -> None:
    window = ChairFactory(salon=salon, name="Window")
    fill(stylist=second_stylist, chair=window)

    with pytest.raises(BookingRefused, match="Window is taken at 11:00"):
        change(chair=window)


def test_nothing_of_another_salon_comes_in_by_a_change(change: Booker) -> None:
    with pytest.raises(Exception, match="another salon"):
        change(service=ServiceFactory(salon=SalonFactory()))


def test_the_second_of_two_desks_keeps_nothing_of_the_first_away(
    booked: Appointment, change: Booker, receptionist: Staff, now: dt.datetime, cut: Service
) -> None:
    change(note="first")

    with pytest.raises(StaleAppointment, match="since you opened it"):
        change_appointment(
            appointment=booked, service=cut, line=None, chair=None, minutes=None,
            note="second", expected_version=1, by=receptionist, at=now,
        )  # fmt: skip


def test_a_client_sits_in_one_place_unless_it_is_said(
    booked: Appointment, person: Client, fill: Booker, second_stylist: Staff
) -> None:
    given = {"client": person, "stylist": second_stylist, "starts_at": at_clock(11, 15)}

    with pytest.raises(ClientElsewhere, match=r"has Cut \d+ with .* at 11:00"):
        fill(**given)
    together = fill(**given, is_together=True)

    assert together.is_together
    assert Appointment.objects.count() == 2


def test_a_merged_entry_of_the_client_counts_as_the_client(
    booked: Appointment, person: Client, salon: Salon, fill: Booker, second_stylist: Staff
) -> None:
    other = ClientFactory(salon=salon, merged_into=person)

    with pytest.raises(ClientElsewhere):
        fill(client=other, stylist=second_stylist)


def test_a_cancellation_is_undone_while_the_time_is_free(
    booked: Appointment, receptionist: Staff, now: dt.datetime
) -> None:
    cancel_appointment(appointment=booked, reason="ill", by=receptionist, at=now)

    restore_appointment(appointment=booked, by=receptionist, at=now)

    assert booked.status == Status.BOOKED
    assert booked.claims.count() == 6
    labels = [event.label for event in booked.events.all()]
    assert labels == ["booked", "cancelled", "booked again"]


def test_a_time_that_was_given_away_is_not_taken_back(
    booked: Appointment, fill: Booker, receptionist: Staff, now: dt.datetime
) -> None:
    cancel_appointment(appointment=booked, reason="ill", by=receptionist, at=now)
    fill()

    with pytest.raises(BookingRefused, match="is busy at 11:00"):
        restore_appointment(appointment=booked, by=receptionist, at=now)
    booked.refresh_from_db()
    assert booked.status == Status.CANCELLED


def test_yesterday_stays_cancelled(
    booked: Appointment, receptionist: Staff, now: dt.datetime
) -> None:
    cancel_appointment(appointment=booked, reason="ill", by=receptionist, at=now)

    with pytest.raises(BookingRefused, match="has passed"):
        restore_appointment(appointment=booked, by=receptionist, at=now + dt.timedelta(days=1))


def test_marks_are_set_and_removed_and_a_move_forgets_them(
    booked: Appointment, stylist: Staff, receptionist: Staff, now: dt.datetime
) -> None:
    mark_appointment(appointment=booked, kind="confirmed", by=receptionist, at=now)
    mark_appointment(appointment=booked, kind="late", by=receptionist, at=now)
    mark_appointment(appointment=booked, kind="arrived", by=receptionist, at=now)
    assert booked.arrived_at == now
    assert booked.late_at is None

    mark_appointment(appointment=booked, kind="arrived", by=receptionist, at=now, on=False)
    assert booked.arrived_at is None
    move_appointment(
        appointment=booked, starts_at=at_clock(15), stylist=stylist, by=receptionist, at=now
    )
    assert booked.confirmed_at is None


def test_a_length_between_five_minutes_is_refused_by_the_database(booked: Appointment) -> None:
    booked.own_minutes = 33
    with pytest.raises(DatabaseError), transaction.atomic():
        booked.save()


def test_the_page_changes_an_appointment_and_shows_the_history(
    desk: Browser, booked: Appointment, salon: Salon
) -> None:
    long = ServiceFactory(salon=salon, name="Cut and dry", application_minutes=60)

    answer = desk.post(
        f"/appointments/{booked.pk}/change/",
        {"service": long.pk, "version": booked.version, "note": "by the window",
         "quoted_price": "48,50", "deposit_amount": "10"},
    )  # fmt: skip

    assert answer.status_code == 302
    page = desk.get(f"/appointments/{booked.pk}/").text
    assert "Cut and dry" in page
    assert "by the window" in page
    assert "48.50" in page
    booked.refresh_from_db()
    assert booked.has_deposit


def test_a_refused_change_comes_back_as_typed(
    desk: Browser, booked: Appointment, tone: Service
) -> None:
    answer = desk.post(
        f"/appointments/{booked.pk}/change/",
        {"service": tone.pk, "version": booked.version, "note": "kept as typed"},
    )

    assert answer.status_code == 422
    assert "Choose the line" in answer.text
    assert "kept as typed" in answer.text


def test_a_cancelled_visit_stays_on_the_day_with_an_undo(
    desk: Browser, booked: Appointment
) -> None:
    page = desk.post(f"/appointments/{booked.pk}/cancel/", {"reason": "ill"}, follow=True).text

    assert "Appointment cancelled" in page
    assert f"/appointments/{booked.pk}/restore/" in page
    assert f"<s><bdi>{booked.client.name}</bdi></s>" in page

    assert desk.post(f"/appointments/{booked.pk}/restore/").status_code == 302
    assert "<s>" not in desk.get(f"/day/{TODAY.isoformat()}/").text


def test_a_no_show_needs_no_reason_and_a_cancellation_does(
    desk: Browser, booked: Appointment, clock: time_machine.Traveller
) -> None:
    address = f"/appointments/{booked.pk}/cancel/"

    assert "Say why" in desk.post(address, {}).text
    clock.move_to(at_clock(11, 20))
    assert desk.post(address, {"did_not_come": "on"}).status_code == 302


def test_a_client_in_two_places_is_confirmed_on_the_page(
    desk: Browser, booked: Appointment, person: Client, cut: Service, second_stylist: Staff
) -> None:
    given = {
        "client": person.pk, "service": cut.pk, "stylist": second_stylist.pk,
        "day": "2026-03-11", "time": "11:00",
    }  # fmt: skip

    refused = desk.post("/appointments/new/", given)
    assert refused.status_code == 422
    assert 'name="is_together"' in refused.text
    assert desk.post("/appointments/new/", {**given, "is_together": "on"}).status_code == 302
