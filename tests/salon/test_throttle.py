"""Wrong tries are throttled, lock nobody out elsewhere, and leave nothing of what was typed."""

import re

from axes.models import AccessAttempt
from django.test import Client as Browser
from pytest_django import Settings

from salon.models import Staff
from tests.salon.test_second_factor import (
    NEW,
    PASSWORD,
    _code,
    _first_step,
    _is_in,
    _second_step,
    _set_up,
    ada,
)

__all__ = ["ada"]


def test_wrong_codes_are_throttled_and_nobody_is_locked_out_elsewhere(
    ada: Staff, settings: Settings
) -> None:
    settings.PROXY_COUNT = 1
    _set_up(ada)
    here = {"X-Forwarded-For": "198.51.100.7"}
    there = Browser(headers={"X-Forwarded-For": "203.0.113.9"})
    _first_step(browser=there)

    answers = [_second_step(there, "12345").status_code for _n in range(7)]

    assert answers[:4] == [422] * 4
    assert answers[-1] == 429
    assert _first_step(browser=there).get("/day/").status_code == 302
    mine = _first_step(browser=Browser(headers=here))
    assert _second_step(mine, _code()).status_code == 302


def test_a_known_browser_is_let_in_though_others_tried_beside_it(
    ada: Staff, settings: Settings
) -> None:
    """OWASP, "Slow Down Online Guessing Attacks with Device Cookies": same address, too."""
    known = _first_step()
    known.post("/sign-out/")
    stranger = Browser()
    for _n in range(settings.AXES_FAILURE_LIMIT + 1):
        _first_step("wrong", stranger)

    assert (
        stranger.post("/sign-in/", {"username": "ada", "password": PASSWORD}).status_code == 429
    )
    assert _is_in(_first_step(browser=known))
    forged = Browser()
    forged.cookies["salon-known"] = "x" + known.cookies["salon-known"].value
    assert not _is_in(_first_step(browser=forged))


def test_what_is_typed_beside_a_wrong_try_is_not_kept(ada: Staff) -> None:
    browser = _first_step()
    browser.post(
        "/account/",
        {"current": "not quite it", "new_password1": NEW, "new_password2": NEW},
    )
    browser.post("/your-pin/", {"pin": "739164", "again": "739164", "password": "not it"})

    kept = str(list(AccessAttempt.objects.values()))
    assert "current=" in kept
    assert not re.search(f"not quite it|{NEW}|739164|not it", kept)
