"""A story at each step of a visit, and the browser of its stylist."""

import datetime as dt
from collections.abc import Iterator

import pytest
import time_machine
from django.test import Client as Browser

from salon.models import Salon, Staff
from tests.factories.consult import Story, opened
from tests.typed import SignIn


@pytest.fixture
def at_noon() -> Iterator[None]:
    """Noon in Dublin, so that a visit that began two hours ago began today."""
    with time_machine.travel(dt.datetime(2026, 3, 11, 12, tzinfo=dt.UTC), tick=True):
        yield


@pytest.fixture
def story(salon: Salon, stylist: Staff, now: dt.datetime) -> Story:
    """A visit that has just opened."""
    return opened(salon, stylist=stylist, at=now - dt.timedelta(hours=2))


@pytest.fixture
def tablet(client_for: SignIn, stylist: Staff) -> Browser:
    return client_for(stylist)
