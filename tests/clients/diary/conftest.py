"""A booking to change, and someone who fills a time."""

import datetime as dt
from typing import Any

import pytest

from clients.models import Appointment, Client, Service
from clients.services import book_appointment, change_appointment
from formulas.models import ProductLine
from salon.models import Salon, Staff
from tests.clients.conftest import at_clock
from tests.factories.clients import ClientFactory
from tests.typed import Booker


@pytest.fixture
def booked(
    person: Client, cut: Service, stylist: Staff, receptionist: Staff, now: dt.datetime
) -> Appointment:
    """A cut of half an hour at 11:00."""
    return book_appointment(
        client=person, service=cut, stylist=stylist, starts_at=at_clock(11),
        by=receptionist, at=now,
    )  # fmt: skip


@pytest.fixture
def change(booked: Appointment, receptionist: Staff, now: dt.datetime) -> Booker:
    """Return a function that changes the booking; what is not named stays."""

    def change(**given: Any) -> Appointment:
        standing = {
            "service": booked.service, "line": booked.line, "chair": booked.chair,
            "minutes": booked.own_minutes, "note": booked.note,
        }  # fmt: skip
        return change_appointment(
            appointment=booked, by=receptionist, at=now, **{**standing, **given}
        )

    return change


@pytest.fixture
def fill(
    salon: Salon, cut: Service, stylist: Staff, receptionist: Staff, now: dt.datetime
) -> Booker:
    """Return a function that books a cut at 11:00 for somebody else."""

    def fill(**given: Any) -> Appointment:
        usual = {
            "client": ClientFactory(salon=salon), "service": cut, "stylist": stylist,
            "starts_at": at_clock(11), "by": receptionist, "at": now,
        }  # fmt: skip
        return book_appointment(**{**usual, **given})

    return fill


@pytest.fixture
def book(
    person: Client, line: ProductLine, tone: Service, stylist: Staff, receptionist: Staff
) -> Booker:
    """Return a function that books a tone at 11:00 today unless told otherwise."""

    def book(starts_at: dt.datetime | None = None, **changed: Any) -> Appointment:
        given = {
            "client": person,
            "service": tone,
            "line": line,
            "stylist": stylist,
            "starts_at": starts_at or at_clock(11),
            "by": receptionist,
            "at": at_clock(10),
        }
        return book_appointment(**{**given, **changed})

    return book
