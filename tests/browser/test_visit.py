"""One visit, from the booking to the printed card, as the three people do it."""

import datetime as dt
import re
from decimal import Decimal

import pytest
import time_machine
from django.utils import timezone
from playwright.sync_api import Page, expect

from clients.models import Appointment, Chair, Client, Service
from consult.demo import cast
from formulas import services as formulary
from salon import services as house
from salon.models import Role
from tests.browser.conftest import DESK, TABLET, box_of, fill_the_rest, unexpected
from tests.typed import Seat

PASSWORD = "three kettles and a lamp"
NAME = "Maximiliane von Hohenfels-Szczepańska"


@pytest.fixture
def salon_with_stock(transactional_db: None, clock: time_machine.Traveller) -> None:
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
    desk.locator("#find").fill("Maximiliane")
    expect(desk.locator("#found")).to_contain_text("No one found")
    desk.locator("#found").get_by_role("link", name="Add a client").click()
    desk.locator("#id_name").fill(NAME)
    desk.locator("#id_birth_date").fill("1990-05-12")
    desk.get_by_role("button", name="Add client").click()
    expect(desk.get_by_role("heading", level=1)).to_have_text(NAME)
    desk.get_by_role("link", name="Book", exact=True).click()
    desk.get_by_label("Product line").select_option(label="Tidepool")
    desk.get_by_label("Day", exact=True).fill("2026-11-26")
    desk.get_by_label("Time", exact=True).fill("10:30")
    desk.get_by_role("button", name="Book").click()
    expect(desk.locator("#gate")).to_contain_text("Colour cannot start")


def _refused_without_a_test(desk: Page) -> None:
    desk.get_by_role("button", name="Check in").click()
    expect(desk.locator("#gate")).to_contain_text("No patch test on record for this line")
    expect(desk.locator("#gate")).to_contain_text("Next possible time: Wednesday 25 November")


def _place(desk: Page) -> None:
    desk.get_by_role("link", name="Place a patch test").click()
    desk.get_by_label("Site", exact=True).select_option(label="behind the right ear")
    desk.get_by_label("I agree that the salon keeps").check()
    desk.get_by_label("Batch").fill("L 2291")
    desk.get_by_role("button", name="Save the test").click()
    expect(desk.get_by_role("heading", level=1)).to_have_text("Your patch test")


def _read(desk: Page, clock: time_machine.Traveller) -> None:
    desk.get_by_role("link", name="Patch tests").click()
    desk.get_by_role("link", name=NAME).click()
    desk.locator("label", has_text="no reaction").click()
    desk.get_by_role("button", name="Save test reading").click()
    expect(desk.get_by_text("Too early to be clear")).to_be_visible()
    clock.shift(dt.timedelta(hours=2))
    desk.get_by_role("button", name="Save test reading").click()
    expect(desk.get_by_role("heading", level=1)).to_have_text(NAME)
    expect(desk.get_by_text("Test clear").first).to_be_visible()


def _check_in(desk: Page) -> None:
    """One click, in the diary."""
    expect(desk.get_by_text("Test clear").first).to_be_visible()
    desk.get_by_role("button", name=f"Check in {NAME}").click()
    expect(desk.get_by_text("checked in").first).to_be_visible()


def _begin(tablet: Page) -> None:
    expect(tablet).to_have_url(re.compile("/today/$"))
    tablet.get_by_role("button", name="Begin").click()
    tablet.get_by_role("link", name="Ask the safety questions").click()
    for question in tablet.locator(".ask").all():
        question.locator("label", has_text=re.compile(r"^\s*No\s*$")).click()
    tablet.get_by_role("button", name="Save the answers").click()


def _read_hair(tablet: Page) -> None:
    roots = tablet.locator("[data-zone=roots]")
    roots.get_by_label("Natural level").fill("5.5")
    roots.get_by_label("Lifted level").fill("7.5")
    fill_the_rest(tablet)
    tablet.get_by_role("button", name="Save the reading").click()


def _choose(tablet: Page) -> str:
    expect(tablet.get_by_role("heading", name="Warmth against depth")).to_be_visible()
    words = tablet.locator(".portrait__words")
    before = words.inner_text()
    tablet.locator("[data-to=cool]").click()
    expect(words).not_to_have_text(before)
    coolest = words.inner_text()
    tablet.locator("[data-to=bright]").click()
    expect(words).not_to_have_text(coolest)
    bright = words.inner_text()
    assert len({before, coolest, bright}) >= 2
    tablet.get_by_role("slider").first.press("ArrowRight")
    tablet.locator("[data-to=between]").click()
    tablet.get_by_role("button", name="Use this").click()
    return bright


def _sign(tablet: Page) -> None:
    tablet.get_by_role("button", name="Sign", exact=True).click()
    expect(tablet.get_by_text("The client has to agree first.")).to_be_visible()
    tablet.get_by_label("Name of the person who signs").fill(NAME)
    tablet.get_by_label("I have read this").check()
    pad = tablet.locator(".signature__pad")
    pad.scroll_into_view_if_needed()
    box = box_of(pad)
    assert box
    tablet.mouse.move(box["x"] + 30, box["y"] + 60)
    tablet.mouse.down()
    for step in range(12):
        tablet.mouse.move(box["x"] + 30 + 15 * step, box["y"] + 60 + (step % 3) * 20)
    tablet.mouse.up()
    tablet.get_by_role("button", name="Sign", exact=True).click()
    expect(tablet).to_have_url(re.compile("/formula/$"))


def _decide(tablet: Page) -> None:
    tablet.get_by_role("link", name="Change it").first.click()
    before = tablet.locator("#prediction").inner_text()
    part = tablet.locator("#editor input[name^=parts-]").first
    with tablet.expect_response(re.compile("/prediction/")):
        part.fill("6")
        part.press("Tab")
    expect(tablet.locator("#prediction")).not_to_have_text(before)
    tablet.get_by_role("link", name="Back to the suggestions").click()
    tablet.get_by_role("button", name="Use this one").first.click()
    expect(tablet).to_have_url(re.compile("/bench/$"))


def _mix(tablet: Page, clock: time_machine.Traveller) -> None:
    poured = tablet.locator(".weigh input[name^=poured-]").first
    planned = float(poured.input_value())
    with tablet.expect_response(re.compile("/rescale/")):
        poured.fill(f"{planned + 2:.1f}")
        tablet.locator(".weigh input[name^=in_bowl-]").first.check()
    expect(tablet.get_by_text("Too much poured")).to_be_visible()
    tablet.get_by_role("button", name="Bowl mixed").first.click()
    tablet.get_by_role("button", name="On the hair: start the clock").click()
    expect(tablet.locator("[data-timer]")).to_be_visible()
    clock.shift(dt.timedelta(minutes=20))
    tablet.reload()
    tablet.get_by_role("button", name="Rinsed").click()
    expect(tablet).to_have_url(re.compile("/result/$"))


def _see_and_close(tablet: Page) -> None:
    tablet.locator("[id$=depth] label").nth(3).click()
    tablet.locator("[id$=warmth] label").nth(2).click()
    tablet.get_by_label("Note").fill("Even from root to tip.")
    tablet.get_by_role("button", name="Save result").click()
    expect(tablet).to_have_url(re.compile("/card/$"))
    tablet.get_by_role("button", name="Close the visit").click()
    card = tablet.get_by_role("link", name=re.compile("Visit card for the client"))
    response = tablet.request.get(card.get_attribute("href") or "")
    assert response.status == 200
    assert response.body().startswith(b"%PDF")


def _review(laptop: Page) -> None:
    expect(laptop).to_have_url(re.compile("/histories/$"))
    laptop.get_by_role("link", name=NAME).click()
    row = laptop.locator(".tone").first
    expect(row).to_contain_text("Balanced")
    expect(row).to_contain_text("Even from root to tip.")


def test_a_visit_from_the_booking_to_the_card(
    salon_with_stock: None, seat: Seat, clock: time_machine.Traveller
) -> None:
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

    tablet = seat("stylist", PASSWORD, viewport=TABLET)
    _begin(tablet)
    _read_hair(tablet)
    _choose(tablet)
    _sign(tablet)
    _decide(tablet)
    _mix(tablet, clock)
    _see_and_close(tablet)
    laptop = seat("owner", PASSWORD, viewport=DESK)
    _review(laptop)

    assert Appointment.objects.get(client=Client.objects.get()).status == "done"
    for page in (monday, wednesday, thursday, tablet, laptop):
        assert unexpected(page) == []
