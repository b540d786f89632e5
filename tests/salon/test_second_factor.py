"""A second factor: codes after RFC 6238, used once; recovery codes; what guards them."""

import base64
import datetime as dt
import re

import pytest
import time_machine
from django.contrib.auth.password_validation import validate_password
from django.core.management import call_command
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from pytest_django import Settings

from salon import selectors, services
from salon.models import AuditEvent, RecoveryCode, SecondFactor, Staff
from salon.second_factor import codes
from salon.second_factor.services import (
    SecondFactorNeeded,
    accept_code,
    set_up_second_factor,
    turn_off_second_factor,
)
from tests.factories.salon import StaffFactory
from tests.typed import Answer, SignIn, present

PASSWORD, SHORT = "three kettles and a lamp", "kq7#Vm2!"
NEW = "seven spoons under the moon"
SECRET = b"12345678901234567890"


@pytest.fixture
def ada(owner: Staff) -> Staff:
    owner.username, owner.display_name = "ada", "Ada Brandt"
    owner.set_password(PASSWORD)
    owner.save()
    return owner


def _code(at: dt.datetime | None = None, steps: int = 0) -> str:
    moment = (at or timezone.now()).timestamp()
    return codes.code_at(SECRET, int(moment // codes.STEP) + steps)


def _set_up(staff: Staff) -> tuple[str, ...]:
    """Give somebody a second factor, an hour ago."""
    at = timezone.now() - dt.timedelta(hours=1)
    return set_up_second_factor(secret=SECRET, code=_code(at), by=staff, at=at)


def _first_step(password: str = PASSWORD, browser: Browser | None = None) -> Browser:
    browser = browser or Browser()
    browser.post("/sign-in/?next=/day/", {"username": "ada", "password": password})
    return browser


def _second_step(browser: Browser, code: str) -> Answer:
    return browser.post("/sign-in/code/", {"code": code})


def _is_in(browser: Browser) -> bool:
    return browser.get("/account/").status_code == 200


@pytest.mark.parametrize(
    ("moment", "eight_digits"),
    [
        (59, "94287082"),
        (1111111109, "07081804"),
        (1111111111, "14050471"),
        (1234567890, "89005924"),
        (2000000000, "69279037"),
        (20000000000, "65353130"),
    ],
)
def test_codes_are_those_of_the_standard(moment: int, eight_digits: str) -> None:
    """RFC 6238, appendix B, SHA-1; six digits are the last six of its eight (RFC 4226, 5.3)."""
    step = moment // codes.STEP

    assert codes.code_at(SECRET, step) == eight_digits[-6:]
    assert codes.step_of(SECRET, eight_digits[-6:], at=moment) == step
    assert codes.step_of(SECRET, eight_digits[-6:], at=moment + 30) == step
    assert codes.step_of(SECRET, eight_digits[-6:], at=moment + 60) is None
    assert codes.step_of(SECRET, eight_digits[-6:], at=moment, after=step) is None


def test_an_app_reads_the_secret_from_the_address() -> None:
    """Base32 of the RFC's secret as `base32` (coreutils) prints it."""
    address = codes.address(SECRET, username="ada", salon="Corner House")

    assert address.startswith("otpauth://totp/Corner%20House:ada?")
    assert "secret=GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ" in address
    assert codes.readable(SECRET).replace(" ", "") == "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"


def test_setting_up_asks_for_password_and_code_and_shows_the_codes_once(ada: Staff) -> None:
    browser, elsewhere = _first_step(), _first_step()
    page = browser.get("/account/second-factor/").text
    secret = present(re.search(r"secret=([A-Z2-7]+)", page)).group(1)
    assert secret in browser.get("/account/second-factor/").text  # the same on the next look
    raw = base64.b32decode(secret)
    now_code = codes.code_at(raw, int(timezone.now().timestamp() // 30))

    def post(password: str, code: str) -> Answer:
        return browser.post("/account/second-factor/", {"password": password, "code": code})

    assert post("wrong", now_code).status_code == 422
    assert post(PASSWORD, "000000" if now_code != "000000" else "1").status_code == 422
    shown = post(PASSWORD, now_code)

    found = re.findall(r"<li><code>([a-z0-9-]{19})</code>", shown.text)
    assert len(set(found)) == 10
    assert shown.headers["Cache-Control"] == "no-store"
    assert _is_in(browser)
    assert not _is_in(elsewhere)
    stored = str(list(SecondFactor.objects.values()) + list(RecoveryCode.objects.values()))
    assert secret not in stored
    assert not any(code[5:] in stored or code.replace("-", "")[4:] in stored for code in found)
    assert found[0] not in browser.get("/account/second-factor/").text


def test_a_sign_in_takes_both_and_a_code_counts_once(ada: Staff) -> None:
    _set_up(ada)
    browser = _first_step()
    assert not _is_in(browser)
    assert _second_step(browser, "").status_code == 422

    code = _code()
    done = _second_step(browser, f"{code[:3]} {code[3:]}")

    assert done.headers["Location"] == "/day/"
    assert _is_in(browser)
    again = _second_step(_first_step(), code)
    assert "already used" in again.text
    assert _second_step(Browser(), _code(steps=1)).headers["Location"] == "/sign-in/"


def test_half_a_sign_in_ends_after_ten_minutes_and_with_the_password(ada: Staff) -> None:
    _set_up(ada)
    late, changed = _first_step(), _first_step()
    with time_machine.travel(timezone.now() + dt.timedelta(minutes=11)):
        assert _second_step(late, _code()).headers["Location"] == "/sign-in/"
    services.change_password(password=NEW, by=ada, at=timezone.now())
    assert _second_step(changed, _code()).headers["Location"] == "/sign-in/"


def test_a_recovery_code_lets_in_once(ada: Staff) -> None:
    first, *_rest = _set_up(ada)

    assert _is_in(_after(_first_step(), first.upper()))
    assert not _is_in(_after(_first_step(), first))
    assert selectors.recovery_codes_left(staff=ada) == 9
    assert AuditEvent.objects.get(kind="recovery code used").detail == {"left": 9}


def _after(browser: Browser, code: str) -> Browser:
    _second_step(browser, code)
    return browser


def test_after_a_hundred_wrong_codes_only_a_recovery_code_counts(ada: Staff) -> None:
    """NIST SP 800-63B-4, 3.2.2: no more than 100 consecutive failed tries."""
    first, *_rest = _set_up(ada)
    SecondFactor.objects.update(wrong_tries=99)
    now = timezone.now()

    assert not accept_code(staff=ada, code="12345a", at=now)
    assert not accept_code(staff=ada, code=_code(now), at=now)
    assert accept_code(staff=ada, code=first, at=now)
    assert accept_code(staff=ada, code=_code(now), at=now)


def test_a_secret_outlives_a_new_secret_key(ada: Staff, settings: Settings) -> None:
    _set_up(ada)
    before = SecondFactor.objects.get().secret
    settings.SECRET_KEY_FALLBACKS = [settings.SECRET_KEY]
    settings.SECRET_KEY = "another key of fifty random characters or more, really"

    assert accept_code(staff=ada, code=_code(), at=timezone.now())
    settings.SECRET_KEY_FALLBACKS = []

    assert SecondFactor.objects.get().secret != before
    assert codes.opened(SecondFactor.objects.get().secret) == SECRET
    assert codes.opened(before) is None


def test_eight_characters_will_do_beside_a_second_factor(ada: Staff) -> None:
    """NIST SP 800-63B-4, 3.1.1.2: 15 where a password stands alone, else 8."""
    with pytest.raises(Exception, match="at least 15"):
        validate_password(SHORT, ada)
    _set_up(ada)
    validate_password(SHORT, ada)
    with pytest.raises(Exception, match="at least 8"):
        validate_password(SHORT[:7], ada)

    services.change_password(password=SHORT, by=ada, at=timezone.now())

    with pytest.raises(SecondFactorNeeded, match="shorter than 15"):
        turn_off_second_factor(by=ada, at=timezone.now())


def test_an_owner_removes_a_lost_one_and_a_short_password_is_changed_next(
    ada: Staff, client_for: SignIn
) -> None:
    other = StaffFactory(salon=ada.salon, role="owner")
    _set_up(ada)
    services.change_password(password=SHORT, by=ada, at=timezone.now())
    at_work = client_for(Staff.objects.get(pk=ada.pk))
    remove = reverse("salon:remove_second_factor", args=[ada.pk])

    assert at_work.post(remove).headers["Location"] == "/account/second-factor/"
    page = client_for(other).get(f"/salon/team/{ada.pk}/").text
    assert remove in page
    client_for(other).post(remove)

    assert at_work.get("/day/").status_code == 200  # nobody is sent away from their work
    event = AuditEvent.objects.get(kind="second factor removed")
    assert (event.actor_id, event.target_id) == (other.pk, str(ada.pk))
    assert _first_step(SHORT).get("/day/").headers["Location"] == "/account/?next=%2Fday%2F"


def test_a_salon_asks_its_owners_from_their_next_sign_in(
    ada: Staff, stylist: Staff, client_for: SignIn
) -> None:
    at_work = _first_step()
    services.revise_policy(by=ada, at=timezone.now(), owners_need_second_factor=True)

    assert at_work.get("/salon/").status_code == 200
    asked = _first_step()
    assert asked.get("/day/").headers["Location"] == "/account/second-factor/?next=%2Fday%2F"
    assert "Set up your second factor first" in asked.get("/account/second-factor/").text
    assert client_for(stylist).get("/day/").status_code == 200
    _set_up(ada)
    signed_in = _after(_first_step(), _code())
    assert signed_in.get("/day/").status_code == 200
    with pytest.raises(SecondFactorNeeded, match="rules ask"):
        turn_off_second_factor(by=ada, at=timezone.now())
    call_command("remove_second_factor", "ada")
    assert not selectors.has_second_factor(staff=ada)


def test_another_phone_takes_over_only_when_it_is_proven(ada: Staff) -> None:
    first, second, *_rest = _set_up(ada)
    browser = _after(_first_step(), first)
    proof = {"password": PASSWORD, "code": second}
    assert (
        browser.post("/account/second-factor/other/", {**proof, "code": "1"}).status_code == 422
    )

    browser.post("/account/second-factor/other/", proof)
    page = browser.get("/account/second-factor/").text

    assert "works until the new one is set up" in page
    assert codes.opened(SecondFactor.objects.get().secret) == SECRET
    assert browser.post("/account/second-factor/off/", proof).status_code == 422  # used up
