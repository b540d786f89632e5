"""From `manage.py found_salon` to the first appointment, in the order that the screen leads."""

import io
import re

import pytest
import time_machine
from django.core.management import call_command
from playwright.sync_api import Page, expect

from clients.models import Appointment
from tests.browser.conftest import DESK, PASSWORD, unexpected
from tests.typed import Seat


def _next(page: Page, key: str) -> None:
    """Press what is due: after each save the page leads there by itself."""
    expect(page).to_have_url(re.compile("/first-steps/"))
    due = page.locator("[data-state=next]")
    expect(due).to_have_attribute("data-step", key)
    due.get_by_role("link").click()


def test_an_owner_is_led_to_the_first_appointment(
    transactional_db: None,
    monkeypatch: pytest.MonkeyPatch,
    seat: Seat,
    clock: time_machine.Traveller,
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(f"{PASSWORD}\n"))
    named = ["--name", "Corner House", "--owner", "owner", "--owner-name", "Brigid"]
    call_command("found_salon", *named, "--time-zone", "Europe/Dublin", stdout=io.StringIO())
    page = seat("owner", PASSWORD, viewport=DESK)
    expect(page).to_have_url(re.compile("/first-steps/$"))

    _next(page, "salon")
    page.locator("#id_phone").fill("+353 1 496 0101")
    page.get_by_label("Currency").fill("eur")
    page.get_by_role("button", name="Save").click()
    _next(page, "hours")
    page.get_by_role("button", name="Save the week").click()
    _next(page, "staff")
    page.get_by_role("link", name="Brigid").click()
    page.get_by_label("takes clients").check()
    page.get_by_role("button", name="Save").click()
    _next(page, "policy")
    page.get_by_role("button", name="Put in force").click()
    _next(page, "line")
    page.get_by_role("button", name="Add this line").click()
    _next(page, "service")
    page.locator("#id_name").fill("Tone and finish")
    expect(page.get_by_label("needs a patch test")).to_be_checked()
    page.get_by_role("button", name="Save").click()
    _next(page, "test_visit")
    page.get_by_role("button", name="Save").click()
    _next(page, "chair")
    page.locator("#id_name").fill("Window")
    page.get_by_role("button", name="Save").click()
    page.get_by_role("button", name="Keep this text").click()
    page.get_by_role("button", name="We sign in with passwords").click()
    _next(page, "client")
    page.locator("#id_name").fill("Ada Brandt")
    page.locator("#id_birth_date").fill("1990-05-12")
    page.get_by_role("button", name="Add client").click()
    _next(page, "booking")
    page.get_by_role("link", name=re.compile("Ada Brandt")).click()
    page.get_by_label("Day", exact=True).fill("2026-11-26")
    page.get_by_label("Time", exact=True).fill("10:30")
    page.get_by_role("button", name="Book").click()

    expect(page.locator("#gate")).to_contain_text("Colour cannot start")
    assert Appointment.objects.count() == 1
    page.goto("/first-steps/")
    expect(page.get_by_text("The salon is ready")).to_be_visible()
    page.goto("/")
    expect(page).to_have_url(re.compile("/histories/$"))
    assert unexpected(page) == []
