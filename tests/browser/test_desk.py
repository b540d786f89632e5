"""The desk's speed of hand: clicks, keys and requests counted in a real browser."""

import datetime as dt
from dataclasses import dataclass, field
from typing import Any

import pytest
import time_machine
from django.utils import timezone
from playwright.sync_api import Locator, Page, Request, expect

from clients import services
from clients.models import (
    Appointment,
    Chair,
    Client,
    PatchTest,
    ReadingOutcome,
    Service,
    Status,
)
from formulas.models import ProductLine
from salon import services as house
from salon.models import Role, Salon, Staff
from tests.browser.conftest import DESK, box_of, unexpected
from tests.factories.clients import agree
from tests.typed import Seat, present

PASSWORD = "three kettles and a lamp"


@dataclass
class Hand:
    """Does what a person does at the desk, and counts it."""

    page: Page
    clicks: int = 0
    keys: int = 0
    requests: list[str] = field(default_factory=list)
    loads: int = 0  # of whole pages

    def __post_init__(self) -> None:
        self.page.on("request", self._count)
        self.page.on("load", self._count_load)

    def _count_load(self, page: Page) -> None:
        self.loads += 1

    def _count(self, request: Request) -> None:
        counted = request.resource_type in {"document", "xhr", "fetch"}
        if counted and "since=" not in request.url:
            self.requests.append(request.url)

    def click(self, target: Locator) -> None:
        self.clicks += 1
        target.click()

    def type(self, text: str) -> None:
        self.keys += len(text)
        self.page.keyboard.type(text)

    def press(self, key: str) -> None:
        self.keys += 1
        self.page.keyboard.press(key)

    @property
    def interactions(self) -> int:
        return self.clicks + self.keys


@dataclass
class Shop:
    """A salon with two columns, and who works there."""

    salon: Salon
    desk: Staff
    stylists: list[Staff]
    line: ProductLine
    tone: Service
    cut: Service


@pytest.fixture
def shop(transactional_db: None, clock: time_machine.Traveller) -> Shop:
    """Monday 23 November 2026, 10:00; a regular, tested and booked before."""
    at = timezone.now() - dt.timedelta(days=60)
    salon, owner = house.found_salon(
        at=at, owner_username="owner", owner_name="Brigid", password=PASSWORD,
        name="Corner House", time_zone="Europe/London",
    )  # fmt: skip

    def member(name: str, role: str, column: int = 0) -> Staff:
        return house.add_member(
            by=owner, at=at, password=PASSWORD, username=name.lower(), display_name=name,
            role=role, has_column=bool(column), column_order=column,
        )  # fmt: skip

    return Shop(
        salon=salon,
        desk=member("Imke", Role.RECEPTIONIST),
        stylists=[member("Tomasz", Role.STYLIST, 1), member("Oluchi", Role.STYLIST, 2)],
        line=ProductLine.objects.create(salon=salon, name="Tidepool", kind="acidic"),
        tone=Service.objects.create(
            salon=salon, name="Tone", application_minutes=30, processing_minutes=20,
            finish_minutes=25, is_colour=True,
        ),
        cut=Service.objects.create(
            salon=salon, name="Cut", application_minutes=45, is_colour=False
        ),
    )  # fmt: skip


def _client(shop: Shop, name: str, *, tested_days_ago: int = 0) -> Client:
    now = timezone.now()
    client = services.register_client(
        by=shop.desk, at=now, name=name, birth_date=dt.date(1988, 4, 12)
    )
    agree(client, by=shop.desk, at=now - dt.timedelta(days=30))
    if tested_days_ago:
        placed = now - dt.timedelta(days=tested_days_ago)
        test = services.place_patch_test(
            client=client, line=shop.line, site="behind_left_ear", batch="B-2291",
            applied_at=placed, by=shop.desk, at=placed,
        )  # fmt: skip
        services.record_patch_test_reading(
            test=test, outcome=ReadingOutcome.NO_REACTION, by=shop.desk,
            at=placed + dt.timedelta(hours=49),
        )  # fmt: skip
    return client


def _book(
    shop: Shop, client: Client, hour: int, minute: int = 0, **changed: Any
) -> Appointment:
    start = timezone.now().replace(hour=hour, minute=minute, second=0, microsecond=0)
    given = {"service": shop.tone, "line": shop.line, "stylist": shop.stylists[0], **changed}
    return services.book_appointment(
        client=client, starts_at=start, by=shop.desk, at=timezone.now(), **given
    )


def _at_the_desk(seat: Seat) -> Hand:
    page = seat("imke", PASSWORD, viewport=DESK)
    expect(page.locator("#day")).to_be_visible()
    page.wait_for_load_state("load")
    return Hand(page)


def test_a_known_client_is_booked_in_six_interactions(shop: Shop, seat: Seat) -> None:
    Chair.objects.create(salon=shop.salon, name="Window")
    for name in ("Ngozi Adichie-Okonkwo", "Nadia Salt", "Nils Holm"):
        _client(shop, name, tested_days_ago=20)
    hand = _at_the_desk(seat)

    hand.click(hand.page.get_by_role("link", name="15:00 free").first)
    expect(hand.page.locator("#find")).to_be_focused()
    hand.page.wait_for_load_state("load")
    hand.type("ngo")
    expect(hand.page.locator("#found li")).to_have_count(1)
    hand.press("Enter")
    expect(hand.page.get_by_role("heading", level=1)).to_have_text("Ngozi Adichie-Okonkwo")
    expect(hand.page.get_by_role("button", name="Book", exact=True)).to_be_focused()
    hand.press("Enter")
    expect(hand.page.locator("#gate")).to_contain_text("Colour can start")

    one = Appointment.objects.get()
    assert one.starts_at.hour == 15
    assert one.stylist == shop.stylists[0]
    assert hand.interactions <= 6
    assert len(hand.requests) <= 8
    assert unexpected(hand.page) == []


def test_a_patch_test_is_placed_in_four_interactions_from_the_day(
    shop: Shop, seat: Seat
) -> None:
    _client(shop, "Nadia Salt", tested_days_ago=20)  # the open tube: its batch is offered
    _book(shop, _client(shop, "Ngozi Adichie-Okonkwo"), 15)
    hand = _at_the_desk(seat)

    hand.click(hand.page.locator(".diary").get_by_role("link", name="No patch test"))
    hand.page.wait_for_load_state("load")
    hand.click(hand.page.get_by_role("button", name="B-2291"))
    expect(hand.page.get_by_label("Batch", exact=True)).to_be_focused()
    hand.press("Enter")
    expect(hand.page.get_by_role("heading", level=1)).to_have_text("Your patch test")

    test = present(PatchTest.objects.first())
    assert (test.client.name, test.batch) == ("Ngozi Adichie-Okonkwo", "B-2291")
    assert hand.interactions <= 4
    assert len(hand.requests) <= 3
    assert unexpected(hand.page) == []


def test_check_in_is_one_interaction(shop: Shop, seat: Seat) -> None:
    one = _book(shop, _client(shop, "Ngozi Adichie-Okonkwo", tested_days_ago=20), 11)
    hand = _at_the_desk(seat)

    hand.click(hand.page.locator(".diary").get_by_role("button", name="Check in"))
    expect(hand.page.locator("#day-notice")).to_contain_text("is checked in")

    one.refresh_from_db()
    assert one.status == Status.CHECKED_IN
    assert hand.interactions == 1
    assert len(hand.requests) == 1
    assert unexpected(hand.page) == []


def test_a_client_is_found_from_anywhere_by_a_key(shop: Shop, seat: Seat) -> None:
    _client(shop, "Ngozi Adichie-Okonkwo")
    hand = _at_the_desk(seat)

    hand.press("F2")
    expect(hand.page.locator("#find-anywhere-box")).to_be_focused()
    hand.type("ngo")
    expect(hand.page.locator("#anywhere-found li")).to_have_count(1)
    hand.press("Enter")

    expect(hand.page.get_by_role("heading", level=1)).to_have_text("Ngozi Adichie-Okonkwo")
    assert hand.keys == 5
    assert unexpected(hand.page) == []


def test_two_desks_see_each_other_without_a_reload(shop: Shop, seat: Seat) -> None:
    client = _client(shop, "Ngozi Adichie-Okonkwo", tested_days_ago=20)
    page = _at_the_desk(seat).page

    _book(shop, client, 16)

    block = page.locator(".diary").get_by_role("link", name="Ngozi Adichie-Okonkwo 16:00")
    expect(block).to_be_visible()


def test_an_appointment_moves_by_keyboard_and_back_by_undo(shop: Shop, seat: Seat) -> None:
    one = _book(shop, _client(shop, "Ngozi Adichie-Okonkwo", tested_days_ago=20), 15)
    page = _at_the_desk(seat).page

    page.locator(f"#appointment-{one.pk}").focus()
    for key in ("m", "ArrowDown", "ArrowDown", "ArrowRight", "Enter"):
        page.keyboard.press(key)
    expect(page.locator("#day-notice")).to_contain_text("Oluchi")
    one.refresh_from_db()
    assert (one.starts_at.hour, one.starts_at.minute) == (15, 30)
    assert one.stylist == shop.stylists[1]

    page.get_by_role("button", name="Undo").click()
    expect(page.locator("#day-notice")).to_contain_text("15:00, \u2068Tomasz")
    one.refresh_from_db()
    assert (one.starts_at.hour, one.starts_at.minute) == (15, 0)
    assert one.stylist == shop.stylists[0]


def test_a_drag_onto_a_booking_is_refused_and_nothing_moves(shop: Shop, seat: Seat) -> None:
    one = _book(shop, _client(shop, "Ngozi Adichie-Okonkwo"), 13, service=shop.cut, line=None)
    _book(shop, _client(shop, "Ann Lee"), 15, service=shop.cut, line=None)
    page = _at_the_desk(seat).page
    block = page.locator(f"[data-move='/appointments/{one.pk}/move/']")
    block.evaluate("element => element.scrollIntoView({ block: 'center' })")
    box = box_of(block)

    page.mouse.move(box["x"] + 20, box["y"] + 20)
    page.mouse.down()
    page.mouse.move(box["x"] + 20, box["y"] + 120, steps=5)
    page.mouse.move(box["x"] + 20, box["y"] + 20 + 2 * 12 * 11, steps=5)
    page.mouse.up()

    expect(page.locator("#day-notice")).to_contain_text("is busy at 15:00")
    one.refresh_from_db()
    assert one.starts_at.hour == 13


def test_a_drag_to_a_free_time_moves_and_escape_does_not(shop: Shop, seat: Seat) -> None:
    one = _book(shop, _client(shop, "Ngozi Adichie-Okonkwo"), 12, service=shop.cut, line=None)
    page = _at_the_desk(seat).page
    block = page.locator(f"[data-move='/appointments/{one.pk}/move/']")

    page.locator(f"#appointment-{one.pk}").focus()
    for key in ("m", "ArrowDown", "Escape"):
        page.keyboard.press(key)
    expect(page.locator(".diary__target")).to_have_count(0)
    block.evaluate("element => element.scrollIntoView({ block: 'center' })")
    box = box_of(block)
    page.mouse.move(box["x"] + 20, box["y"] + 20)
    page.mouse.down()
    page.mouse.move(box["x"] + 20, box["y"] + 20 + 12 * 11, steps=8)
    page.mouse.up()

    expect(page.locator("#day-notice")).to_contain_text("moved to")
    one.refresh_from_db()
    assert one.starts_at.hour == 13
