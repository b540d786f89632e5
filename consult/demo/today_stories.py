"""Today's diary, half full whatever day it is, with something for everyone to do."""

import datetime as dt

from clients import services as desk
from clients.models import Appointment
from consult.demo.cast import OTHERS, REGULARS
from consult.demo.house import House
from consult.demo.patch_stories import place_and_read
from consult.demo.visit_stories import Planned, build_visit

# (hour, minute, column, who, service): people by name; the columns are the stylists'.
_TODAY = (
    (9, 30, 0, "Ruth Penhaligon", "Cut and finish"),
    (10, 30, 0, "Maeve O’Sullivan-Hartigan", "Tone and finish"),
    (13, 0, 0, "Đặng Thị Minh Khuê", "Tone and finish"),
    (15, 30, 0, "Дарина Коваленко", "Tone and finish"),
    (10, 0, 1, "نور الحداد", "Tone and finish"),
    (12, 0, 1, "Constance Featherstonehaugh", "Tone and finish"),
    (14, 0, 1, "Samir Boutros", "Cut and finish"),
    (16, 0, 1, "Ivana Horvat", "Tone and finish"),
    (11, 0, 2, "Ελένη Παπαδοπούλου", "Tone and finish"),
    (14, 30, 2, "Marguerite de la Tour-Beaumont-Castellane", "Tone and finish"),
)
# Who is in the salon, and the step that each visit waits at; nothing for one not begun.
_CHECKED_IN = (
    ("Maeve O’Sullivan-Hartigan", ""),
    ("نور الحداد", "choice"),
    ("Ελένη Παπαδοπούλου", "bench"),
)
_COMING = (
    (2, 10, 0, "Aleksandra Wiśniewska"),
    (2, 14, 1, "Bríd Uí Cheallacháin"),
    (3, 11, 2, "Soraya Kermani"),
    (5, 10, 0, "Siobhán Ní Mhaonaigh"),
    (6, 12, 1, "Björk Ísleifsdóttir"),
    (9, 15, 2, "Chiara Bellandi"),
)


def build(built: House) -> None:
    """Book today and the days to come; check the first regular in for the stylist."""
    today = built.now.astimezone(built.salon.zone).date()
    booked: dict[str, Appointment] = {}
    for hour, minute, column, name, service in _TODAY:
        booked[name] = _book(
            built, day=today, clock=(hour, minute), column=column, name=name, service=service
        )
    for days, hour, column, name in _COMING:
        day = today + dt.timedelta(days=days)
        _book(
            built, day=day, clock=(hour, 0), column=column, name=name, service="Tone and finish"
        )
    for name, upto in _CHECKED_IN:
        _check_in(built, booked[name])
        if upto:
            guest = next(g for g in REGULARS if g.name == name)
            stylist, starts_at = booked[name].stylist, booked[name].starts_at
            build_visit(built, Planned(starts_at, guest, stylist, 0), booked[name], upto=upto)


def _check_in(built: House, appointment: Appointment) -> None:
    """Check someone in, with a fresh test where the regular one would not hold."""
    moment = built.now
    try:
        desk.check_in(appointment=appointment, by=built.desk, at=moment)
    except desk.CheckInRefused:
        if appointment.line is None:
            raise
        placed = built.now - dt.timedelta(days=4)
        place_and_read(built, appointment.client, appointment.line, placed)
        desk.check_in(appointment=appointment, by=built.desk, at=moment)


def _book(
    built: House, *, day: dt.date, clock: tuple[int, int], column: int, name: str, service: str
) -> Appointment:
    guest = next(g for g in (*REGULARS, *OTHERS) if g.name == name)
    is_far = day - built.now.astimezone(built.salon.zone).date() > dt.timedelta(days=7)
    offered = built.services[service]
    return desk.book_appointment(
        client=built.clients[name],
        service=offered,
        line=built.lines[guest.line] if offered.is_colour else None,
        stylist=built.stylists[column],
        starts_at=built.at(day, *clock),
        is_proposed=is_far,  # held at the last visit, to be confirmed
        by=built.desk,
        at=built.now - dt.timedelta(days=8),
    )
