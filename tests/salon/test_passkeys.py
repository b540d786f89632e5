"""Passkeys: what they prove, what guards them, and what is left when one is lost."""

import datetime as dt
import re

import pytest
import time_machine
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from pytest_django import Settings

from salon import selectors
from salon.models import AuditEvent, Passkey, Staff, StaffSession
from salon.passkeys import ceremony
from tests.authenticator import UP, UV, Authenticator
from tests.factories.salon import StaffFactory
from tests.salon.test_second_factor import (
    PASSWORD,
    _code,
    _first_step,
    _is_in,
    _second_step,
    ada,
)
from tests.typed import Answer

__all__ = ["ada"]
SITE = "http://testserver"
ADD = "/account/passkeys/new/"


@pytest.fixture(autouse=True)
def site(settings: Settings) -> None:
    settings.SITE_URL = SITE


def _device() -> Authenticator:
    return Authenticator(SITE)


def _make(browser: Browser, device: Authenticator, name: str = "My phone") -> Answer:
    options = browser.post(f"{ADD}options/").json()
    said = device.make(options)
    return browser.post(ADD, {"name": name, "password": PASSWORD, "passkey": said})


def _with_passkey(browser: Browser | None = None) -> tuple[Authenticator, list[str]]:
    """Give Ada a passkey; return it and her recovery codes."""
    device = _device()
    shown = _make(browser or _first_step(), device)
    return device, re.findall(r"<li><code>([a-z0-9-]{19})</code>", shown.text)


def _sign_in(
    device: Authenticator, browser: Browser | None = None, counter: int | None = None
) -> Browser:
    browser = browser or Browser()
    options = browser.post("/sign-in/passkey/options/").json()
    said = device.sign(options, counter=counter)
    browser.post("/sign-in/passkey/", {"passkey": said, "next": "/day/"})
    return browser


def _kinds() -> list[str]:
    return list(AuditEvent.objects.order_by("pk").values_list("kind", flat=True))


def test_a_passkey_is_both_factors(ada: Staff) -> None:
    elsewhere = _first_step()
    browser = _first_step()
    options = browser.post(f"{ADD}options/").json()["publicKey"]
    device, codes = _with_passkey(browser)

    assert options["authenticatorSelection"]["residentKey"] == "required"
    assert options["authenticatorSelection"]["userVerification"] == "required"
    assert options["rp"] == {"id": "testserver", "name": ada.salon.name}
    assert "ada" not in options["user"]["id"].lower()
    assert len(set(codes)) == 10  # the first second factor brings recovery codes
    assert _is_in(browser)
    assert not _is_in(elsewhere)
    asked = Browser().post("/sign-in/passkey/options/").json()["publicKey"]
    assert asked["userVerification"] == "required"
    assert not asked.get("allowCredentials")  # a stranger learns of nobody's passkey
    signed_in = _sign_in(device)
    assert signed_in.get("/day/").status_code == 200
    # Registered as a sign-in by password is: with place, owner and event.
    assert StaffSession.objects.filter(staff_id=ada.pk).count() == 2
    assert "this one" in signed_in.get("/account/").text
    assert _kinds()[-1] == "signed in"
    assert "passkey added" in _kinds()


def test_it_leads_where_one_was_going_and_to_this_site_only(ada: Staff) -> None:
    device, _codes = _with_passkey()
    for wanted, where in (("/week/", "/week/"), ("https://evil.example/", "/")):
        browser = Browser()
        said = device.sign(browser.post("/sign-in/passkey/options/").json())
        answer = browser.post("/sign-in/passkey/", {"passkey": said, "next": wanted})
        assert answer.headers["Location"] == where


def test_a_password_alone_no_longer_lets_in_and_the_passkey_is_a_second_step(
    ada: Staff,
) -> None:
    device, _codes = _with_passkey()
    browser = _first_step()
    assert not _is_in(browser)
    page = browser.get("/sign-in/code/").text
    assert "Now use your passkey" in page

    options = browser.post("/sign-in/passkey/options/").json()
    assert len(options["publicKey"]["allowCredentials"]) == 1
    done = browser.post("/sign-in/code/", {"passkey": device.sign(options)})

    assert done.headers["Location"] == "/day/"
    assert _is_in(browser)


def test_a_colleagues_passkey_is_no_second_step(ada: Staff) -> None:
    _with_passkey()
    bob = StaffFactory(salon=ada.salon, username="bob")
    bob.set_password(PASSWORD)
    bob.save()
    his_browser = Browser()
    his_browser.post("/sign-in/", {"username": "bob", "password": PASSWORD})
    his = _device()
    _make(his_browser, his)
    browser = _first_step()

    options = browser.post("/sign-in/passkey/options/").json()
    answer = browser.post("/sign-in/code/", {"passkey": his.sign(options)})

    assert answer.status_code == 422
    assert not _is_in(browser)


def test_recovery_codes_remain_for_a_lost_passkey(ada: Staff) -> None:
    _device_lost, codes = _with_passkey()
    browser = _first_step()

    assert _second_step(browser, _code()).status_code == 422  # there is no app
    _second_step(browser, codes[0])

    assert _is_in(browser)
    assert selectors.recovery_codes_left(staff=ada) == 9


def test_without_verification_of_the_user_it_counts_nowhere(ada: Staff) -> None:
    device, _codes = _with_passkey()
    device.flags = UP
    assert not _is_in(_sign_in(device))
    browser = _first_step()
    options = browser.post("/sign-in/passkey/options/").json()
    assert browser.post("/sign-in/code/", {"passkey": device.sign(options)}).status_code == 422
    device.flags = UV  # nobody touched it
    assert not _is_in(_sign_in(device))
    device.flags = UP | UV
    assert _is_in(_sign_in(device))


def test_none_is_made_without_verification_of_the_user(ada: Staff) -> None:
    device, browser = _device(), _first_step()
    device.flags = UP
    assert _make(browser, device).status_code == 422
    assert not Passkey.objects.exists()


def test_a_counter_that_goes_back_is_refused_and_on_record(ada: Staff) -> None:
    """WebAuthn Level 3, 6.1.1 and 7.2, step 22: a copy may exist."""
    device, _codes = _with_passkey()
    assert _is_in(_sign_in(device, counter=7))
    assert not _is_in(_sign_in(device, counter=7))
    assert not _is_in(_sign_in(device, counter=3))
    assert not _is_in(_sign_in(device, counter=0))
    assert _kinds().count("passkey refused") == 3
    assert AuditEvent.objects.filter(kind="passkey refused")[0].detail.keys() == {"counter"}
    assert _is_in(_sign_in(device, counter=8))


def test_one_that_does_not_count_is_taken(ada: Staff) -> None:
    device, _codes = _with_passkey()
    assert _is_in(_sign_in(device, counter=0))
    assert _is_in(_sign_in(device, counter=0))


def test_a_challenge_counts_once_for_five_minutes_in_its_own_session(ada: Staff) -> None:
    device, _codes = _with_passkey()
    browser, other = Browser(), Browser()
    options = browser.post("/sign-in/passkey/options/").json()
    said = {"passkey": device.sign(options)}

    other.post("/sign-in/passkey/options/")
    other.post("/sign-in/passkey/", said)
    assert not _is_in(other)
    browser.post("/sign-in/passkey/", said)
    assert _is_in(browser)
    browser.post("/sign-out/")
    browser.post("/sign-in/passkey/", said)
    assert not _is_in(browser)

    late = Browser()
    options = late.post("/sign-in/passkey/options/").json()
    with time_machine.travel(timezone.now() + dt.timedelta(minutes=5, seconds=1)):
        late.post("/sign-in/passkey/", {"passkey": device.sign(options)})
        assert not _is_in(late)


def test_a_challenge_for_making_is_none_for_signing(ada: Staff) -> None:
    browser = _first_step()
    device, _codes = _with_passkey(browser)
    made_for = browser.post(f"{ADD}options/").json()
    options = {"publicKey": {**made_for["publicKey"], "rpId": "testserver"}}

    answer = browser.post(
        reverse("salon:begin_passkey"), {"password": PASSWORD, "passkey": device.sign(options)}
    )

    assert answer.status_code == 422


@pytest.mark.parametrize(
    ("origin", "is_own"),
    [
        ("https://salon.example", True),
        ("https://desk.salon.example", True),  # of CSRF_TRUSTED_ORIGINS
        ("https://tablet.salon.example", True),  # of ALLOWED_HOSTS
        ("http://salon.example", False),
        ("https://salon.example:8443", False),
        ("https://other.salon.example", False),
        ("https://salon.example.evil.example", False),
        ("https://evilsalon.example", False),
        ("https://elsewhere.example", False),  # trusted for forms, and not under the name
        ("", False),
    ],
)
def test_origins_are_those_of_the_settings(
    settings: Settings, origin: str, is_own: bool
) -> None:
    settings.LOCAL, settings.SITE_URL = False, "https://salon.example"
    settings.ALLOWED_HOSTS = ["salon.example", "tablet.salon.example", "*"]
    settings.CSRF_TRUSTED_ORIGINS = ["https://desk.salon.example", "https://elsewhere.example"]

    assert ceremony.rp_id() == "salon.example"
    assert ceremony.is_own_origin(origin) is is_own


def test_localhost_works_on_any_port_and_an_address_of_numbers_does_not(
    settings: Settings,
) -> None:
    settings.SITE_URL = "http://localhost:8000"
    assert ceremony.is_own_origin("http://localhost:8321")
    assert not ceremony.is_own_origin("http://127.0.0.1:8000")


def test_another_origin_signs_nothing(ada: Staff) -> None:
    device, _codes = _with_passkey()
    device.origin = "http://evil.example"
    assert not _is_in(_sign_in(device))


def test_another_key_and_another_user_sign_nothing(ada: Staff) -> None:
    device, _codes = _with_passkey()
    forged = _device()
    forged.credential_id, forged.user_handle = device.credential_id, device.user_handle
    assert not _is_in(_sign_in(forged))
    device.user_handle = b"another"
    assert not _is_in(_sign_in(device))


@pytest.mark.parametrize(
    "said",
    [
        "",
        "{",
        "[]",
        "null",
        '{"id": 7}',
        '{"id": "x"}',
        '{"id": "x", "response": {}}',
        "x" * 9000,
    ],
)
def test_nonsense_is_refused(ada: Staff, said: str) -> None:
    device, _codes = _with_passkey()
    browser = Browser()
    browser.post("/sign-in/passkey/options/")
    answer = browser.post("/sign-in/passkey/", {"passkey": said}, follow=True)
    assert "This passkey was not accepted" in answer.text
    name = Passkey.objects.get().credential_id
    browser.post("/sign-in/passkey/options/")
    for half in (f'{{"id": "{name}"}}', f'{{"id": "{name}", "response": 3}}'):
        browser.post("/sign-in/passkey/", {"passkey": half})
    assert not _is_in(browser)
    assert device.counter == 0
