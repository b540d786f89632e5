"""An enrolled tablet on the counter, people with PINs, and the moment."""

import datetime as dt
from collections.abc import Callable, Iterator

import pytest
import time_machine
from django.conf import settings
from django.test import Client as Browser

from salon.models import Device, Role, Salon, Staff
from salon.tablet import services
from tests.factories.salon import StaffFactory
from tests.typed import Answer

PASSWORD = "three kettles and a lamp"
PINS = {Role.RECEPTIONIST: "302958", Role.STYLIST: "418527", Role.OWNER: "750264"}


@pytest.fixture
def clock(locks: None) -> Iterator[time_machine.Traveller]:
    with time_machine.travel(dt.datetime(2026, 3, 11, 10, tzinfo=dt.UTC), tick=False) as moved:
        yield moved


@pytest.fixture
def team(salon: Salon, clock: time_machine.Traveller) -> dict[str, Staff]:
    """One person per role, each with a password and a PIN."""
    people: dict[str, Staff] = {}
    for role, pin in PINS.items():
        person = StaffFactory(salon=salon, role=role, has_column=role == Role.STYLIST)
        person.set_password(PASSWORD)
        person.save()
        services.set_pin(by=person, pin=pin, at=dt.datetime.now(tz=dt.UTC))
        people[role] = person
    return people


@pytest.fixture
def enrolled(team: dict[str, Staff]) -> tuple[Device, str]:
    """A device of the salon, and its token."""
    return services.enrol_device(
        name="Counter tablet", by=team[Role.OWNER], at=dt.datetime.now(tz=dt.UTC)
    )


@pytest.fixture
def device(enrolled: tuple[Device, str]) -> Device:
    return enrolled[0]


@pytest.fixture
def sign_in() -> Callable[..., Browser]:
    """Return a function that signs someone in with name and password, as a person does."""

    def with_password(
        person: Staff, *, token: str = "", browser: Browser | None = None
    ) -> Browser:
        browser = browser or Browser()
        if token:
            browser.cookies[settings.DEVICE_COOKIE_NAME] = token
        answer = browser.post("/sign-in/", {"username": person.username, "password": PASSWORD})
        assert answer.status_code == 302
        return browser

    return with_password


@pytest.fixture
def tablet(
    enrolled: tuple[Device, str], team: dict[str, Staff], sign_in: Callable[..., Browser]
) -> Browser:
    """The enrolled device, where the stylist has signed in with the password."""
    return sign_in(team[Role.STYLIST], token=enrolled[1])


def switch(tablet: Browser, person: Staff, pin: str | None = None) -> Answer:
    """Try to take the tablet."""
    return tablet.post("/switch/", {"staff": person.pk, "pin": pin or PINS[Role(person.role)]})


def whose(browser: Browser) -> int | None:
    """Return the id of whoever is signed in."""
    found = browser.session.get("_auth_user_id")
    return int(found) if found else None
