"""What a client takes home of a booking, and what their page shows daily."""

import pytest
from django.test import Client as Browser
from icalendar import Calendar

from clients.models import Appointment, Client, Service, Status
from salon.models import Salon
from tests.clients.conftest import at_clock
from tests.factories.clients import AppointmentFactory

pytestmark = pytest.mark.usefixtures("clock")


@pytest.fixture
def booked(person: Client, cut: Service) -> Appointment:
    return AppointmentFactory(client=person, service=cut, starts_at=at_clock(15))


def test_the_slip_speaks_the_clients_language_and_names_the_price(
    desk: Browser, booked: Appointment
) -> None:
    booked.client.language = "de"
    booked.client.save()
    booked.quoted_price = "48.50"
    booked.save()

    page = desk.get(f"/appointments/{booked.pk}/slip/").text

    assert 'lang="de"' in page
    assert "Mittwoch" in page
    assert "48" in page


def test_the_calendar_file_is_read_by_another_library(
    desk: Browser, booked: Appointment, salon: Salon
) -> None:
    """RFC 5545, read back with icalendar: CRLF, one event, the salon's own moment."""
    answer = desk.get(f"/appointments/{booked.pk}/appointment.ics")

    assert answer["Content-Type"].startswith("text/calendar")
    assert b"\r\n" in answer.content
    event = Calendar.from_ical(answer.content).walk("VEVENT")[0]
    assert event.decoded("DTSTART") == at_clock(15)
    assert salon.name in str(event["SUMMARY"])
    assert booked.client.name not in answer.content.decode()


def test_no_shows_are_counted_beside_the_name(
    desk: Browser, person: Client, booked: Appointment
) -> None:
    assert "no-show" not in desk.get(f"/clients/{person.pk}/").text
    AppointmentFactory(client=person, starts_at=at_clock(9), status=Status.NO_SHOW)

    for path in (f"/clients/{person.pk}/", f"/appointments/{booked.pk}/"):
        assert "1 no-show" in desk.get(path).text
    assert "1 no-show" in desk.get(f"/appointments/new/?client={person.pk}").text


def test_phone_numbers_can_be_pressed(
    desk: Browser, person: Client, booked: Appointment
) -> None:
    person.phone = "+35315550123"
    person.save()

    for path in (f"/clients/{person.pk}/", f"/appointments/{booked.pk}/", "/day/"):
        assert 'href="tel:+353-1-555-0123"' in desk.get(path).text
