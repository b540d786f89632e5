"""Passkeys of one's own: added, renamed, removed; and what an owner, leaving and a lock do."""

import datetime as dt

from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from pytest_django import Settings

from salon import selectors, services
from salon.models import Passkey, SecondFactor, Staff
from salon.second_factor.services import set_up_second_factor
from tests.factories.salon import StaffFactory
from tests.salon.test_passkeys import (
    ADD,
    _device,
    _kinds,
    _make,
    _sign_in,
    _with_passkey,
    site,
)
from tests.salon.test_second_factor import (
    PASSWORD,
    SECRET,
    SHORT,
    _code,
    _first_step,
    _is_in,
    _second_step,
    ada,
)
from tests.typed import SignIn, present

__all__ = ["ada", "site"]


def test_another_passkey_needs_both_factors_first(ada: Staff) -> None:
    browser = _first_step()
    device, _codes = _with_passkey(browser)

    assert browser.get(ADD).headers["Location"] == "/account/second-factor/"
    assert _make(browser, _device()).status_code == 302
    assert Passkey.objects.count() == 1
    options = browser.post("/sign-in/passkey/options/").json()
    proof = {"password": PASSWORD, "passkey": device.sign(options)}
    assert browser.post(f"{ADD}begin/", {**proof, "password": "wrong"}).status_code == 422
    options = browser.post("/sign-in/passkey/options/").json()
    proof["passkey"] = device.sign(options)
    assert browser.post(f"{ADD}begin/", proof).headers["Location"] == ADD
    second = _device()
    assert _make(browser, second, "A key").headers["Location"] == "/account/second-factor/"

    assert Passkey.objects.count() == 2
    assert second.user_handle == device.user_handle
    assert browser.get(ADD).headers["Location"] == "/account/second-factor/"  # proven once
    assert selectors.recovery_codes_left(staff=ada) == 10


def test_the_first_needs_the_password_and_a_name(ada: Staff) -> None:
    browser = _first_step()
    for wrong in ({"password": "wrong"}, {"name": ""}, {"passkey": ""}):
        said = _device().make(browser.post(f"{ADD}options/").json())
        sent = {"name": "x", "password": PASSWORD, "passkey": said, **wrong}
        assert browser.post(ADD, sent).status_code == 422
    assert not Passkey.objects.exists()


def test_a_passkey_is_made_once(ada: Staff) -> None:
    browser = _first_step()
    device, codes = _with_passkey(browser)
    browser.post(f"{ADD}begin/", {"password": PASSWORD, "code": codes[0]})
    options = browser.post(f"{ADD}options/").json()
    assert len(options["publicKey"]["excludeCredentials"]) == 1

    again = browser.post(ADD, {"name": "x", "passkey": device.make(options)})

    assert again.status_code == 422
    assert "is known already" in again.text


def test_one_is_renamed_and_removed_by_its_owner_only(ada: Staff, client_for: SignIn) -> None:
    browser = _first_step()
    _device_one, codes = _with_passkey(browser)
    passkey = Passkey.objects.get()
    rename = reverse("salon:rename_passkey", args=[passkey.pk])
    remove = reverse("salon:remove_passkey", args=[passkey.pk])
    colleague = client_for(StaffFactory(salon=ada.salon, role="owner"))
    for address in (rename, remove):
        assert colleague.post(address, {"name": "y", "password": "y"}).status_code == 404

    browser.post(rename, {"name": "The <b>red</b> key"})
    assert "The &lt;b&gt;red" in browser.get("/account/second-factor/").text
    browser.post(rename, {"name": ""})
    assert Passkey.objects.get().name == "The <b>red</b> key"
    last = browser.post(remove, {"password": PASSWORD}, follow=True)
    assert "your only second factor" in last.text
    browser.post(f"{ADD}begin/", {"password": PASSWORD, "code": codes[0]})
    _make(browser, _device(), "Another")
    assert "not the password" in browser.post(remove, {"password": "no"}, follow=True).text
    browser.post(remove, {"password": PASSWORD})

    assert [one.name for one in Passkey.objects.all()] == ["Another"]
    assert {"passkey renamed", "passkey removed"} <= set(_kinds())


def test_a_removed_passkey_signs_nothing(ada: Staff) -> None:
    now = timezone.now() - dt.timedelta(hours=1)
    browser = _first_step()
    device, _codes = _with_passkey(browser)
    set_up_second_factor(secret=SECRET, code=_code(now), by=ada, at=now)
    browser = _first_step()
    _second_step(browser, _code())
    assert _is_in(_sign_in(device))

    browser.post(
        reverse("salon:remove_passkey", args=[Passkey.objects.get().pk]), {"password": PASSWORD}
    )

    assert not _is_in(_sign_in(device))
    assert selectors.has_app(staff=ada)


def test_it_counts_as_the_second_factor_that_a_salon_asks_of_owners(ada: Staff) -> None:
    services.revise_policy(by=ada, at=timezone.now(), owners_need_second_factor=True)
    asked = _first_step()
    assert asked.get("/day/").headers["Location"].startswith("/account/second-factor/")
    assert "/account/passkeys/new/" in asked.get("/account/second-factor/").text

    device, codes = _with_passkey(asked)

    assert _sign_in(device).get("/day/").status_code == 200
    off = {"password": PASSWORD, "code": codes[0]}
    browser = _sign_in(device)
    answer = browser.post("/account/second-factor/off/", off)
    assert "you cannot turn it off" in answer.text
    assert Passkey.objects.exists()


def test_turning_it_off_removes_passkeys_too(ada: Staff) -> None:
    browser = _first_step()
    device, codes = _with_passkey(browser)

    browser.post("/account/second-factor/off/", {"password": PASSWORD, "code": codes[0]})

    assert not Passkey.objects.exists()
    assert _is_in(_first_step())
    assert not _is_in(_sign_in(device))


def test_an_owner_removes_a_colleagues_lost_one(ada: Staff, client_for: SignIn) -> None:
    device, _codes = _with_passkey()
    boss = StaffFactory(salon=ada.salon, role="owner")
    services.change_password(password=SHORT, by=ada, at=timezone.now())

    client_for(boss).post(reverse("salon:remove_second_factor", args=[ada.pk]))

    assert not Passkey.objects.exists()
    assert not _is_in(_sign_in(device))
    assert "second factor removed" in _kinds()
    assert _first_step(SHORT).get("/day/").headers["Location"] == "/account/?next=%2Fday%2F"


def test_a_locked_screen_opens_by_ones_own_passkey_only(ada: Staff) -> None:
    device, _codes = _with_passkey()
    browser = _sign_in(device)
    browser.post("/lock/")
    assert browser.get("/day/").status_code == 302
    forged = _device()
    forged.credential_id, forged.user_handle = device.credential_id, device.user_handle
    options = browser.post("/sign-in/passkey/options/").json()
    assert browser.post("/locked/", {"passkey": forged.sign(options)}).status_code == 422
    assert browser.get("/day/").status_code == 302

    page = browser.get("/locked/").text
    options = browser.post("/sign-in/passkey/options/").json()
    browser.post("/locked/", {"passkey": device.sign(options)})

    assert "data-passkey=" in page
    assert browser.get("/day/").status_code == 200


def test_at_another_address_no_passkey_is_offered(ada: Staff, settings: Settings) -> None:
    assert "data-passkey=" in Browser().get("/sign-in/").text
    browser = _first_step()
    settings.SITE_URL = "http://elsewhere.example"

    assert "data-passkey=" not in Browser().get("/sign-in/").text
    assert "Open http://elsewhere.example" in browser.get(ADD).text


def test_nobody_has_more_than_ten(ada: Staff) -> None:
    browser = _first_step()
    _device_one, codes = _with_passkey(browser)
    first = present(Passkey.objects.first())
    Passkey.objects.bulk_create(
        Passkey(
            staff=ada, name="x", credential_id=f"x{n}", credential=first.credential,
            user_handle=first.user_handle, added_at=first.added_at,
        )
        for n in range(9)
    )  # fmt: skip
    browser.post(f"{ADD}begin/", {"password": PASSWORD, "code": codes[0]})

    assert "ten passkeys" in _make(browser, _device()).text
    assert Passkey.objects.count() == 10


def test_whoever_left_takes_no_passkey_along(ada: Staff, client_for: SignIn) -> None:
    boss = StaffFactory(salon=ada.salon, role="owner")
    device, _codes = _with_passkey()
    services.change_member(member=ada, by=boss, at=timezone.now(), is_active=False)

    assert not Passkey.objects.exists()
    assert not SecondFactor.objects.exists()
    Staff.objects.update(is_active=True)
    assert not _is_in(_sign_in(device))


def test_wrong_ones_are_throttled_as_wrong_passwords_are(
    ada: Staff, settings: Settings
) -> None:
    device, _codes = _with_passkey()
    forged = _device()
    forged.credential_id, forged.user_handle = device.credential_id, device.user_handle
    browser, answers = Browser(), []
    for _n in range(settings.AXES_FAILURE_LIMIT + 1):
        options = browser.post("/sign-in/passkey/options/").json()
        answers.append(
            browser.post("/sign-in/passkey/", {"passkey": forged.sign(options)}).status_code
        )

    assert answers[0] == 302
    assert answers[-1] == 429
    assert not _is_in(_sign_in(device, browser))
    assert "sign-in refused" in _kinds()
