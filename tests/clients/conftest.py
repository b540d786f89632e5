"""A salon at work: a line, a tone, a client, and a clock at ten on a Wednesday."""

import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from clients.models import Client, Service
from formulas.models import ProductLine
from salon.models import Salon, Staff
from tests.factories.clients import ClientFactory, ServiceFactory, ToneFactory
from tests.factories.formulas import LineFactory

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
def line(salon: Salon) -> ProductLine:
    return LineFactory(salon=salon)


@pytest.fixture
def tone(salon: Salon) -> Service:
    return ToneFactory(salon=salon)


@pytest.fixture
def cut(salon: Salon) -> Service:
    return ServiceFactory(salon=salon)


@pytest.fixture
def client(salon: Salon) -> Client:
    return ClientFactory(salon=salon, name="Ngozi Adichie")


@pytest.fixture
def second_stylist(salon: Salon, stylist: Staff) -> Staff:
    from tests.factories.salon import StaffFactory

    return StaffFactory(salon=salon, has_column=True, column_order=2)
