"""A salon at work: a line, a tone, a client, and a clock at ten on a Wednesday."""

import datetime as dt
from collections.abc import Iterator
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.test import Client as Browser
from pytest_django import Settings

from clients import services
from clients.models import Appointment, Client, Photo, Service, Status
from formulas.models import ProductLine
from salon.models import Salon, Staff
from tests.factories.clients import (
    AppointmentFactory,
    ClientFactory,
    ServiceFactory,
    ToneFactory,
)
from tests.factories.formulas import LineFactory
from tests.factories.photos import agree, phone_picture
from tests.typed import SignIn

DUBLIN = ZoneInfo("Europe/Dublin")
TODAY = dt.date(2026, 3, 11)


def at_clock(hour: int, minute: int = 0, day: dt.date = TODAY) -> dt.datetime:
    """Return a moment by the test salon's clocks."""
    return dt.datetime.combine(day, dt.time(hour, minute), tzinfo=DUBLIN).astimezone(dt.UTC)


@pytest.fixture
def now() -> dt.datetime:
    """Wednesday 11 March 2026, 10:00 in Dublin."""
    return at_clock(10)


@pytest.fixture
def clock(now: dt.datetime) -> Iterator[time_machine.Traveller]:
    """Stop the server's clock at that moment; the test may move it."""
    with time_machine.travel(now, tick=False) as traveller:
        yield traveller


@pytest.fixture
def desk(client_for: SignIn, receptionist: Staff) -> Browser:
    """The receptionist's browser."""
    return client_for(receptionist)


@pytest.fixture
def line(salon: Salon) -> ProductLine:
    return LineFactory(salon=salon)


@pytest.fixture
def tone(salon: Salon) -> Service:
    return ToneFactory(salon=salon)


@pytest.fixture
def cut(salon: Salon) -> Service:
    return ServiceFactory(salon=salon)


@pytest.fixture
def person(salon: Salon) -> Client:
    return ClientFactory(salon=salon, name="Ngozi Adichie")


@pytest.fixture
def second_stylist(salon: Salon, stylist: Staff) -> Staff:
    from tests.factories.salon import StaffFactory

    return StaffFactory(salon=salon, has_column=True, column_order=2)


@pytest.fixture
def store(settings: Settings, tmp_path: Path) -> Path:
    """An empty folder for photos."""
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


@pytest.fixture
def seated(person: Client, stylist: Staff, now: dt.datetime) -> Appointment:
    """A client in the chair."""
    return AppointmentFactory(
        client=person,
        stylist=stylist,
        status=Status.CHECKED_IN,
        starts_at=now,
        ends_at=now + dt.timedelta(hours=1),
    )


@pytest.fixture
def tablet(client_for: SignIn, stylist: Staff) -> Browser:
    return client_for(stylist)


@pytest.fixture
def photo(seated: Appointment, stylist: Staff, now: dt.datetime, store: Path) -> Photo:
    """A photo of the lengths, before, taken with consent."""
    agree(seated, stylist, now)
    return services.take_photo(
        appointment=seated,
        picture=phone_picture(),
        moment="before",
        part="mid_lengths",
        by=stylist,
        at=now,
    )
