"""Taking the tablet back by PIN where the device is not enrolled: quick, not to be guessed."""

import datetime as dt

import pytest
from django.test import Client as Browser
from django.urls import reverse

from salon.models import AuditEvent, SecondFactor, Staff, StaffPin
from salon.tablet import services as pins
from tests.consult.screens.test_client_view import handed_on_the_tablet
from tests.factories.consult import Story

__all__ = ["handed_on_the_tablet"]

PASSWORD = "a long enough password"
PIN = "604918"


@pytest.fixture
def handed(story: Story, tablet: Browser, stylist: Staff, now: dt.datetime) -> Story:
    """A visit handed to the client by a stylist who has a PIN, on a device like any other."""
    stylist.set_password(PASSWORD)
    stylist.save()
    pins.set_pin(by=stylist, pin=PIN, at=now)
    tablet.post("/sign-out/")
    tablet.post("/sign-in/", {"username": stylist.username, "password": PASSWORD})
    story.answer().read()
    tablet.post(_at("hand_over", story))
    return story


def _at(name: str, story: Story) -> str:
    return reverse(f"consult:{name}", args=[story.visit.pk])


def test_elsewhere_the_pin_takes_it_back_too_and_opens_no_more_than_a_pin(
    handed: Story, tablet: Browser, stylist: Staff, now: dt.datetime
) -> None:
    before = tablet.session.session_key

    response = tablet.post(_at("leave_client_view", handed), {"pin": PIN})

    assert response.headers["Location"] == _at("choice", handed)
    assert tablet.session.session_key != before
    assert tablet.get("/today/").status_code == 200
    assert tablet.get("/calendar/").status_code == 403  # as after any PIN: the password
    tablet.post("/lock/")
    assert tablet.post("/locked/", {"pin": PIN}).status_code == 422


def test_a_client_who_guesses_switches_the_pin_off_and_gets_nowhere(
    handed: Story, tablet: Browser, stylist: Staff, now: dt.datetime
) -> None:
    guesses = ["941873", "604917", "604819", "604981", "640918"]

    for guess in guesses:
        assert tablet.post(_at("leave_client_view", handed), {"pin": guess}).status_code == 422
    right = tablet.post(_at("leave_client_view", handed), {"pin": PIN})

    assert right.status_code == 422
    assert "until its owner signs in with the password" in right.text
    assert tablet.get("/today/").status_code == 302
    kinds = AuditEvent.objects.order_by("pk").values_list("kind", flat=True)
    assert [kind for kind in kinds if kind.startswith("PIN")] == [
        "PIN set", *["PIN refused"] * 4, "PIN switched off",
    ]  # fmt: skip
    with_password = tablet.post(_at("leave_client_view", handed), {"password": PASSWORD})
    assert with_password.headers["Location"] == _at("choice", handed)
    assert StaffPin.objects.get().wrong_tries == 0


def test_tries_at_the_lock_and_at_the_way_back_count_together(
    handed: Story, tablet: Browser, stylist: Staff, now: dt.datetime
) -> None:
    for _n in range(3):
        tablet.post(_at("leave_client_view", handed), {"pin": "941873"})
    tablet.post("/lock/")
    for _n in range(2):
        tablet.post("/locked/", {"pin": "941873"})

    assert tablet.post("/locked/", {"pin": PIN}).status_code == 422
    assert StaffPin.objects.get().is_off


def test_nobody_elses_pin_takes_it_back(
    handed: Story, tablet: Browser, owner: Staff, stylist: Staff, now: dt.datetime
) -> None:
    pins.set_pin(by=stylist, pin="733581", at=now)
    pins.set_pin(by=owner, pin=PIN, at=now)

    assert tablet.post(_at("leave_client_view", handed), {"pin": PIN}).status_code == 422
    assert StaffPin.objects.get(staff=owner).wrong_tries == 0


def test_a_pin_opens_nothing_elsewhere_while_the_tablet_is_not_handed_out(
    story: Story, tablet: Browser, stylist: Staff, now: dt.datetime
) -> None:
    """The same device, locked in the stylist's own hands, asks for the password."""
    stylist.set_password(PASSWORD)
    stylist.save()
    pins.set_pin(by=stylist, pin=PIN, at=now)
    tablet.post("/sign-out/")
    tablet.post("/sign-in/", {"username": stylist.username, "password": PASSWORD})
    tablet.post("/lock/")

    assert "data-pin" not in tablet.get("/locked/").text
    assert tablet.post("/locked/", {"pin": PIN}).status_code == 422
    assert tablet.get("/today/").status_code == 302


def test_a_changed_password_ends_what_the_pin_could_do(
    handed: Story, tablet: Browser, stylist: Staff, now: dt.datetime
) -> None:
    stylist.set_password("another long enough password")
    stylist.save()

    answer = tablet.post(_at("leave_client_view", handed), {"pin": PIN})

    assert answer.headers["Location"].startswith("/sign-in/")


def test_the_page_holds_no_secret_and_needs_no_script(
    handed: Story, tablet: Browser, stylist: Staff, now: dt.datetime
) -> None:
    page = tablet.get(_at("client_done", handed)).text

    assert "<details" in page
    assert "data-hold" in page  # a disclosure of the browser's own: Enter opens it
    secret = StaffPin.objects.get().secret
    assert not [word for word in (PIN, secret, secret[-12:]) if word in page]


def test_an_enrolled_tablet_shows_its_pad_at_once(
    handed_on_the_tablet: Story, tablet: Browser
) -> None:
    page = tablet.get(_at("client_done", handed_on_the_tablet)).text

    assert "data-pin" in page
    assert "data-hold" not in page


def test_the_lock_over_the_clients_page_takes_the_pin_and_leads_back_to_it(
    handed: Story, tablet: Browser, stylist: Staff, now: dt.datetime
) -> None:
    """A client who takes their time costs nobody a password typed with gloves on."""
    tablet.post("/lock/")

    assert "data-pin" in tablet.get("/locked/").text
    opened = tablet.post("/locked/", {"pin": PIN, "next": "/clients/"})

    assert opened.status_code == 302
    assert tablet.get("/clients/").headers["Location"] == _at("client_choice", handed)


def test_whoever_came_by_pin_gives_the_code_beside_the_password(
    handed: Story, tablet: Browser, stylist: Staff
) -> None:
    """With a second factor a password alone is no full sign-in, here as little as elsewhere."""
    tablet.post(_at("leave_client_view", handed), {"pin": PIN})
    SecondFactor.objects.create(staff=stylist, set_at=handed.at)
    tablet.post(_at("hand_over", handed))

    answer = tablet.post(_at("leave_client_view", handed), {"password": PASSWORD})

    assert answer.status_code == 422
    assert "Code from your app" in answer.text
    assert tablet.get("/today/").status_code == 302
