"""A stylist's calendar in iCalendar (RFC 5545, with the feed properties of RFC 7986).

No health detail: what is booked, with whom and when; never a line, a test or a note.
"""

import datetime as dt
from collections.abc import Iterable

from icalendar import Calendar, Event, vDuration

from clients.models import Appointment, Status
from salon.models import Staff

_STATUS = {
    Status.CANCELLED: "CANCELLED",
    Status.NO_SHOW: "CANCELLED",
}


def calendar(*, stylist: Staff, appointments: Iterable[Appointment], at: dt.datetime) -> bytes:
    """Return the calendar as octets: UTF-8, CRLF, folded at 75."""
    feed = Calendar()
    feed.add("version", "2.0")
    feed.add("prodid", "-//Salon colour record//Diary//EN")
    feed.add("method", "PUBLISH")
    feed.add("name", f"{stylist.salon.name}: {stylist.display_name}")
    feed.add("refresh-interval", vDuration(dt.timedelta(minutes=15)), {"VALUE": "DURATION"})
    for appointment in appointments:
        event = Event()
        event.add("uid", f"appointment-{appointment.pk}@{stylist.salon_id}.salon.invalid")
        event.add("dtstamp", at.astimezone(dt.UTC).replace(microsecond=0))
        event.add("dtstart", appointment.starts_at.astimezone(dt.UTC))
        event.add("dtend", appointment.ends_at.astimezone(dt.UTC))
        event.add("summary", f"{appointment.client.called}, {appointment.service.name}")
        event.add("status", _STATUS.get(Status(appointment.status), "CONFIRMED"))
        event.add("sequence", appointment.version - 1)
        event.add("class", "PRIVATE")
        feed.add_component(event)
    return bytes(feed.to_ical())


def for_client(*, appointment: Appointment, at: dt.datetime) -> bytes:
    """Return one appointment for the client's own calendar: where, when, with whom."""
    salon = appointment.salon
    book = Calendar()
    book.add("version", "2.0")
    book.add("prodid", "-//Salon colour record//Appointment//EN")
    event = Event()
    event.add("uid", f"appointment-{appointment.pk}@{salon.pk}.salon.invalid")
    event.add("dtstamp", at.astimezone(dt.UTC).replace(microsecond=0))
    event.add("dtstart", appointment.starts_at.astimezone(dt.UTC))
    event.add("dtend", appointment.ends_at.astimezone(dt.UTC))
    event.add("summary", f"{appointment.service.name}, {salon.name}")
    event.add("location", salon.address or salon.name)
    event.add("status", _STATUS.get(Status(appointment.status), "CONFIRMED"))
    event.add("sequence", appointment.version - 1)
    book.add_component(event)
    return bytes(book.to_ical())
