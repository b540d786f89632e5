"""One visit, from the booking to the printed card, as the three people do it."""

import datetime as dt
from decimal import Decimal

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from clients.models import Appointment, Chair, Client, Service
from consult.demo import cast
from formulas import services as formulary
from salon import services as house
from salon.models import Role
from tests.browser.conftest import DESK

PASSWORD = "three kettles and a lamp"
NAME = "Maximiliane von Hohenfels-Szczepańska"


@pytest.fixture
def salon_with_stock(transactional_db: None, clock) -> None:
    at = timezone.now() - dt.timedelta(days=400)
    salon, owner = house.found_salon(
        at=at, owner_username="owner", owner_name="Brigid", password=PASSWORD, **cast.SALON
    )
    for username, role in (("desk", Role.RECEPTIONIST), ("stylist", Role.STYLIST)):
        house.add_member(
            by=owner,
            at=at,
            password=PASSWORD,
            username=username,
            display_name=username.title(),
            role=role,
            has_column=role == Role.STYLIST,
        )
    line = formulary.load_demo_line(name="Tidepool", by=owner, at=at)
    for shade in line.shades.all():
        formulary.receive_stock(shade=shade, grams=Decimal(240), by=owner, at=at)
    Service.objects.create(
        salon=salon,
        name="Tone and finish",
        application_minutes=30,
        processing_minutes=25,
        finish_minutes=35,
        is_colour=True,
    )
    Chair.objects.create(salon=salon, name="Chair 1")


def _register_and_book(desk: Page) -> None:
    desk.get_by_role("link", name="Clients").click()
    desk.get_by_label("Find by name, phone or e-mail").fill("Maximiliane")
    expect(desk.locator("#found")).to_contain_text("Nobody found")
    desk.locator("#found").get_by_role("link", name="Register a client").click()
    desk.get_by_label("Name", exact=False).first.fill(NAME)
    desk.get_by_label("Birth date").fill("1990-05-12")
    desk.get_by_role("button", name="Register").click()
    expect(desk.get_by_role("heading", level=1)).to_have_text(NAME)
    desk.get_by_role("link", name="Book", exact=True).click()
    desk.get_by_label("Product line").select_option(label="Tidepool")
    desk.get_by_label("Day", exact=True).fill("2026-11-26")
    desk.get_by_label("Time", exact=True).fill("10:30")
    desk.get_by_role("button", name="Book").click()
    expect(desk.locator("#gate")).to_contain_text("Colour may not start")


def _refused_without_a_test(desk: Page) -> None:
    desk.get_by_role("button", name="Check in").click()
    expect(desk.locator("#gate")).to_contain_text("No patch test is on record for this line")
    expect(desk.locator("#gate")).to_contain_text("Next possible time: Wednesday 25 November")


def _place(desk: Page) -> None:
    desk.get_by_role("link", name="Place a patch test").click()
    desk.get_by_label("Site", exact=True).select_option(label="behind the right ear")
    desk.get_by_label("Batch").fill("L 2291")
    desk.get_by_role("button", name="Record it as placed").click()
    expect(desk.get_by_role("heading", level=1)).to_have_text("Your patch test")


def _read(desk: Page, clock) -> None:
    desk.get_by_role("link", name="Patch tests").click()
    desk.get_by_role("link", name=NAME).click()
    desk.locator("label", has_text="no reaction").click()
    desk.get_by_role("button", name="Record the reading").click()
    expect(desk.get_by_text("Too early to be clear")).to_be_visible()
    clock.shift(dt.timedelta(hours=2))
    desk.get_by_role("button", name="Record the reading").click()
    expect(desk.get_by_role("heading", level=1)).to_have_text(NAME)
    expect(desk.get_by_text("Test clear").first).to_be_visible()


def _check_in(desk: Page) -> None:
    desk.get_by_role("link", name=NAME).click()
    expect(desk.locator("#gate")).to_contain_text("Colour may start")
    desk.get_by_role("button", name="Check in").click()
    expect(desk.get_by_text("checked in").first).to_be_visible()


def test_a_visit_from_the_booking_to_the_card(salon_with_stock, seat, clock) -> None:
    monday = seat("desk", PASSWORD, viewport=DESK)
    _register_and_book(monday)
    _refused_without_a_test(monday)
    _place(monday)
    clock.shift(dt.timedelta(hours=47))
    wednesday = seat("desk", PASSWORD, viewport=DESK)
    _read(wednesday, clock)
    clock.move_to(dt.datetime(2026, 11, 26, 10, 25, tzinfo=dt.UTC))
    thursday = seat("desk", PASSWORD, viewport=DESK)
    _check_in(thursday)

    assert Appointment.objects.get(client=Client.objects.get()).status == "checked_in"
    for page in (monday, wednesday, thursday):
        assert [
            fault for fault in page.faults if "409" not in fault and "422" not in fault
        ] == []
