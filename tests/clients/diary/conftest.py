"""A booking to change, and someone who fills a time."""

import pytest

from clients.models import Appointment
from clients.services import (
    book_appointment,
    change_appointment,
)
from tests.clients.conftest import at_clock
from tests.factories.clients import (
    ClientFactory,
)


@pytest.fixture
def booked(client, cut, stylist, receptionist, now) -> Appointment:
    """A cut of half an hour at 11:00."""
    return book_appointment(
        client=client, service=cut, stylist=stylist, starts_at=at_clock(11),
        by=receptionist, at=now,
    )  # fmt: skip


@pytest.fixture
def change(booked, receptionist, now):
    """Return a function that changes the booking; what is not named stays."""

    def change(**given) -> Appointment:
        standing = {
            "service": booked.service, "line": booked.line, "chair": booked.chair,
            "minutes": booked.own_minutes, "note": booked.note,
        }  # fmt: skip
        return change_appointment(
            appointment=booked, by=receptionist, at=now, **{**standing, **given}
        )

    return change


@pytest.fixture
def fill(salon, cut, stylist, receptionist, now):
    """Return a function that books a cut at 11:00 for somebody else."""

    def fill(**given) -> Appointment:
        usual = {
            "client": ClientFactory(salon=salon), "service": cut, "stylist": stylist,
            "starts_at": at_clock(11), "by": receptionist, "at": now,
        }  # fmt: skip
        return book_appointment(**{**usual, **given})

    return fill
