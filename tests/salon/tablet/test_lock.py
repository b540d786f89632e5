"""A screen left alone is locked: on the server, whatever the page does."""

import datetime as dt
from collections.abc import Callable

import pytest
import time_machine
from django.test import Client as Browser

from salon import services as house
from salon.models import Role, Staff
from tests.salon.tablet.conftest import PASSWORD, PINS, switch
from tests.typed import Answer, SignIn

MINUTE = dt.timedelta(minutes=1)
POLL = {"HX-Request": "true"}


def _is_locked(browser: Browser) -> bool:
    answer = browser.get("/today/")
    return answer.headers.get("Location", "").startswith("/locked/")


def test_after_five_minutes_every_page_leads_to_the_lock(
    tablet: Browser, clock: time_machine.Traveller
) -> None:
    clock.shift(5 * MINUTE - dt.timedelta(seconds=1))
    assert tablet.get("/today/").status_code == 200

    clock.shift(5 * MINUTE)

    for address in ("/", "/day/", "/clients/", "/your-pin/", "/visits/1/bench/"):
        answer = tablet.get(address)
        assert answer.status_code == 302
        assert answer.headers["Location"].startswith("/locked/?next=")
    page = tablet.get("/locked/")
    assert page.status_code == 200
    assert "Counter" not in page.text


def test_a_poll_is_no_touch_and_a_fragment_is_refused_in_place(
    tablet: Browser, clock: time_machine.Traveller
) -> None:
    for _ in range(10):
        clock.shift(MINUTE / 2)
        poll = tablet.get("/day/", headers={**POLL, "X-Idle-Seconds": "9999"})

    assert poll.status_code == 423
    assert poll.headers["HX-Trigger"] == "sitting-locked"
    assert "HX-Redirect" not in poll.headers  # the page is covered where it is
    assert _is_locked(tablet)


@pytest.mark.parametrize("headers", [POLL, {"Sec-Fetch-Mode": "cors"}])
def test_what_a_page_asks_for_by_itself_counts_as_no_touch(
    tablet: Browser, clock: time_machine.Traveller, headers: dict[str, object]
) -> None:
    for _ in range(6):
        clock.shift(MINUTE - dt.timedelta(seconds=1))
        tablet.get("/day/", headers=headers)

    assert tablet.get("/day/", headers=headers).status_code == 423


def test_touches_that_the_page_tells_of_keep_it_open(
    tablet: Browser, clock: time_machine.Traveller
) -> None:
    for _ in range(8):
        clock.shift(2 * MINUTE)
        told = tablet.post("/awake/", headers={"X-Idle-Seconds": "3", "Sec-Fetch-Mode": "cors"})

    assert told.status_code == 204
    assert told.headers["X-Lock-In"] == "297"
    assert not _is_locked(tablet)


def test_touches_told_of_too_late_do_not_open_it_again(
    tablet: Browser, clock: time_machine.Traveller
) -> None:
    clock.shift(6 * MINUTE)

    told = tablet.post("/awake/", headers={"X-Idle-Seconds": "0", "Sec-Fetch-Mode": "cors"})

    assert told.status_code == 423
    assert _is_locked(tablet)


@pytest.mark.parametrize("seconds", ["-1", "x", "1e9", "99999999999", "٣"])
def test_nonsense_about_idleness_is_no_touch(
    tablet: Browser, clock: time_machine.Traveller, seconds: str
) -> None:
    clock.shift(4 * MINUTE)
    tablet.get("/day/", headers={**POLL, "X-Idle-Seconds": seconds.encode()})
    clock.shift(MINUTE)

    assert _is_locked(tablet)


def test_the_salons_own_rule_holds_from_the_next_sign_in(
    team: dict[str, Staff], sign_in: Callable[..., Browser], clock: time_machine.Traveller
) -> None:
    house.revise_policy(
        by=team[Role.OWNER], at=dt.datetime.now(tz=dt.UTC),
        patch_lead_hours=48, patch_read_hours=48, patch_valid_months=6, minimum_age=16,
        records_keep_years=6, idle_lock_minutes=30,
    )  # fmt: skip
    browser = sign_in(team[Role.STYLIST])

    clock.shift(29 * MINUTE)
    assert not _is_locked(browser)
    clock.shift(30 * MINUTE)
    assert _is_locked(browser)


@pytest.mark.parametrize("minutes", [0, 31])
def test_the_rule_stays_within_bounds(
    client_for: SignIn, team: dict[str, Staff], minutes: int
) -> None:
    form = {
        "patch_lead_hours": 48, "patch_read_hours": 48, "patch_valid_months": 6,
        "minimum_age": 16, "records_keep_years": 6, "photos_keep_years": 2,
        "messages_keep_months": 12, "idle_lock_minutes": minutes,
    }  # fmt: skip

    assert client_for(team[Role.OWNER]).post("/salon/policy/", form).status_code == 422


@pytest.mark.parametrize(
    ("proof", "is_open"),
    [
        ({"password": PASSWORD}, True),
        ({"pin": PINS[Role.STYLIST]}, True),
        ({"password": "wrong"}, False),
        ({"pin": "941873"}, False),
        ({"pin": PINS[Role.OWNER]}, False),  # someone else's
        ({"pin": "12"}, False),
        ({}, False),
    ],
)
def test_pin_or_password_unlock(
    tablet: Browser, clock: time_machine.Traveller, proof: dict[str, object], is_open: bool
) -> None:
    clock.shift(6 * MINUTE)
    tablet.get("/day/")

    answer = tablet.post("/locked/", {**proof, "next": "/day/2026-03-11/"})

    assert answer.status_code == (302 if is_open else 422)
    assert _is_locked(tablet) is not is_open
    if is_open:
        assert answer.headers["Location"] == "/day/2026-03-11/"


def test_without_an_enrolled_device_only_the_password_unlocks(
    team: dict[str, Staff], sign_in: Callable[..., Browser], clock: time_machine.Traveller
) -> None:
    browser = sign_in(team[Role.STYLIST])
    clock.shift(6 * MINUTE)

    page = browser.get("/locked/")
    refused = browser.post("/locked/", {"pin": PINS[Role.STYLIST]})

    assert 'name="pin"' not in page.text
    assert refused.status_code == 422
    assert _is_locked(browser)
    assert browser.get("/switch/").status_code == 404


def test_a_page_stays_where_it_is_while_it_is_unlocked(
    tablet: Browser, clock: time_machine.Traveller
) -> None:
    tablet.get("/day/")
    clock.shift(6 * MINUTE)

    wrong = tablet.post("/locked/", {"pin": "941873"}, headers=POLL)
    right = tablet.post("/locked/", {"pin": PINS[Role.STYLIST]}, headers=POLL)

    assert wrong.status_code == 422
    assert '<div class="unlock stack" id="unlock">' in wrong.text
    assert "<html" not in wrong.text
    assert (right.status_code, right.headers["HX-Trigger"]) == (204, "sitting-unlocked")


def test_forms_that_stand_open_are_still_good_after_unlocking(
    team: dict[str, Staff], sign_in: Callable[..., Browser], clock: time_machine.Traveller
) -> None:
    browser = sign_in(team[Role.STYLIST], browser=Browser(enforce_csrf_checks=False))
    browser.handler.enforce_csrf_checks = True
    token = browser.get("/your-pin/").context["csrf_token"]
    clock.shift(6 * MINUTE)

    def post(address: str, form: dict[str, object]) -> Answer:
        return browser.post(address, {**form, "csrfmiddlewaretoken": str(token)})

    assert post("/locked/", {"password": PASSWORD}).status_code == 302
    assert post("/your-pin/remove/", {"password": PASSWORD}).status_code == 302


@pytest.mark.parametrize(
    "address",
    ["https://elsewhere.example/", "//elsewhere.example/", "javascript:alert(1)",
     "/\\elsewhere.example", "elsewhere", "http:///elsewhere.example"],
)  # fmt: skip
def test_unlocking_leads_nowhere_else(
    tablet: Browser, clock: time_machine.Traveller, address: str
) -> None:
    clock.shift(6 * MINUTE)

    answer = tablet.post("/locked/", {"password": PASSWORD, "next": address})

    assert answer.headers["Location"] == "/"


def test_a_form_that_meets_the_lock_leads_back_to_its_page(
    tablet: Browser, clock: time_machine.Traveller
) -> None:
    clock.shift(6 * MINUTE)

    answer = tablet.post(
        "/your-pin/remove/", {}, headers={"Referer": "http://testserver/your-pin/?a=1"}
    )

    assert answer.headers["Location"] == "/locked/?next=%2Fyour-pin%2F%3Fa%3D1"
    foreign = tablet.post("/your-pin/remove/", {}, headers={"Referer": "http://bad.example/x"})
    assert foreign.headers["Location"] == "/locked/?next=%2F"


def test_the_screen_is_locked_on_demand(tablet: Browser) -> None:
    tablet.post("/lock/", headers={"Referer": "http://testserver/day/"})

    assert _is_locked(tablet)
    assert tablet.post("/awake/", headers={"X-Idle-Seconds": "0"}).status_code == 423


def test_from_the_lock_a_colleague_takes_the_tablet(
    tablet: Browser, team: dict[str, Staff], clock: time_machine.Traveller
) -> None:
    clock.shift(6 * MINUTE)
    assert "Someone else" in tablet.get("/locked/").text

    switch(tablet, team[Role.RECEPTIONIST])

    assert tablet.get("/day/").status_code == 200


def test_from_the_lock_one_signs_out(tablet: Browser, clock: time_machine.Traveller) -> None:
    clock.shift(6 * MINUTE)

    tablet.post("/sign-out/")

    assert tablet.get("/day/").headers["Location"].startswith("/sign-in/")


def test_an_open_screen_has_no_lock_to_show(tablet: Browser) -> None:
    assert tablet.get("/locked/?next=/day/").headers["Location"] == "/day/"


def test_a_session_from_before_sittings_ends(tablet: Browser) -> None:
    session = tablet.session
    session["sitting"] = {"of": "another release"}
    session.save()

    assert tablet.get("/today/").headers["Location"].startswith("/sign-in/")
