"""The desk on a bad day, in a real browser: clicks, keys and page loads are counted."""

import datetime as dt
import os
import re

import pytest
import time_machine
from playwright.sync_api import Page, expect

from clients.models import Appointment, Service
from tests.browser.conftest import DESK, next_frame, taken_over, unexpected, until
from tests.browser.test_desk import PASSWORD, Hand, Shop, _at_the_desk, _book, _client, shop
from tests.typed import Seat

__all__ = ["shop"]

STOPS = """
[...document.querySelectorAll('.diary__day')].map(
  (column) => column.querySelectorAll('[tabindex="0"]').length)
"""
COVERED = """
() => {
  const toast = document.querySelector('.toast').getBoundingClientRect();
  return [...document.querySelectorAll('a[href], button, select, input')].filter((one) => {
    if (one.closest('#toasts')) return false;
    const box = one.getBoundingClientRect();
    const across = box.left < toast.right && box.right > toast.left;
    return box.width && across && box.top < toast.bottom && box.bottom > toast.top;
  }).map((one) => one.outerHTML.slice(0, 80));
}
"""


def _loads(hand: Hand) -> int:
    """Return how many pages were loaded; fragments and redirects on the way are none."""
    return hand.loads


def _shot(page: Page, name: str) -> None:
    """Keep a picture where somebody asked for one."""
    folder = os.environ.get("DESK_SHOTS")
    if folder:
        page.screenshot(path=f"{folder}/{name}.png")


@pytest.mark.both
def test_a_start_that_is_pressed_keeps_service_chair_and_note(shop: Shop, seat: Seat) -> None:
    client = _client(shop, "Ngozi Adichie-Okonkwo", tested_days_ago=20)
    _book(shop, _client(shop, "Ann Lee"), 15, service=shop.cut, line=None)
    hand = _at_the_desk(seat)
    hand.page.goto(f"/appointments/new/?client={client.pk}")
    hand.page.wait_for_load_state("load")
    expect(hand.page.locator("#booking-day [data-pick]").first).to_be_visible()
    hand.page.get_by_label("Service").select_option(label="Cut")
    with hand.page.expect_response(re.compile("line=&")):  # the day of what is chosen now
        hand.page.get_by_label("Product line").select_option(label="none (no colour)")
    hand.page.get_by_text("Chair, note, price, repeat").click()
    hand.page.locator("#id_note").fill("by the window")
    expect(hand.page.locator(".htmx-request, .htmx-settling")).to_have_count(0)
    asked: list[str] = []
    hand.page.on("request", lambda request: asked.append(request.url))
    hand.page.locator("#id_note").blur()  # as a press beside it does: it draws no other day
    for _frame in range(8):  # more than the 60 ms after which it would ask
        next_frame(hand.page)
    assert [url for url in asked if "/appointments/new/day/" in url] == []

    hand.click(hand.page.get_by_role("button", name="16:00 Tomasz"))
    expect(hand.page.get_by_role("button", name="Book", exact=True)).to_be_focused()
    _shot(hand.page, "booking-1440")
    hand.press("Enter")
    expect(hand.page.get_by_role("heading", level=1)).to_have_text("Ngozi Adichie-Okonkwo")
    hand.page.wait_for_load_state("load")

    one = Appointment.objects.get(client=client)
    assert (one.service, one.line, one.note) == (shop.cut, None, "by the window")
    assert (one.starts_at.hour, one.stylist) == (16, shop.stylists[0])
    assert unexpected(hand.page) == []


@pytest.mark.both
def test_from_find_to_booked(shop: Shop, seat: Seat) -> None:
    _client(shop, "Ngozi Adichie-Okonkwo", tested_days_ago=20)
    hand = _at_the_desk(seat)
    hand.requests.clear()
    hand.loads = 0

    hand.press("F2")
    hand.type("ngo")
    expect(hand.page.locator("#anywhere-found li")).to_have_count(1)
    hand.press("Enter")
    expect(hand.page.get_by_role("heading", level=1)).to_have_text("Ngozi Adichie-Okonkwo")
    hand.page.wait_for_load_state("load")
    hand.click(hand.page.get_by_role("link", name="Book", exact=True))
    hand.page.wait_for_load_state("load")
    hand.click(hand.page.locator("#booking-day [data-pick]").first)
    hand.press("Enter")
    expect(hand.page.locator("#gate")).to_contain_text("Colour can start")

    print(
        "book from Find:", hand.clicks, "clicks,", hand.keys, "keys,",
        _loads(hand), "page loads",
    )  # fmt: skip
    assert hand.clicks <= 2
    assert hand.keys <= 6


@pytest.mark.both
def test_a_service_is_changed(shop: Shop, seat: Seat) -> None:
    Service.objects.create(
        salon=shop.salon, name="Fringe", application_minutes=15, is_colour=False
    )
    one = _book(shop, _client(shop, "Ann Lee"), 15, service=shop.cut, line=None)
    hand = _at_the_desk(seat)
    hand.requests.clear()
    hand.loads = 0

    hand.click(hand.page.locator(f"#appointment-{one.pk}"))
    hand.page.wait_for_load_state("load")
    form = hand.page.locator("#change")
    hand.clicks += 1
    form.get_by_label("Service").select_option(label="Fringe")
    hand.click(form.get_by_role("button", name="Save changes"))
    expect(hand.page.locator(".timeline")).to_contain_text("Fringe")
    _shot(hand.page, "appointment-1440")

    one.refresh_from_db()
    assert (one.service.name, one.minutes) == ("Fringe", 15)
    print(
        "change a service:", hand.clicks, "clicks,", hand.keys, "keys,",
        _loads(hand), "page loads",
    )  # fmt: skip
    assert hand.clicks <= 3


@pytest.mark.both
def test_a_sick_day_with_six_bookings(shop: Shop, seat: Seat) -> None:
    names = ["Ann Lee", "Bea Moss", "Cora Hill", "Dina Fox", "Eva Stone", "Fay Reed"]
    booked = [
        _book(shop, _client(shop, name), 11 + n, service=shop.cut, line=None)
        for n, name in enumerate(names)
    ]
    hand = _at_the_desk(seat)
    hand.requests.clear()
    hand.loads = 0

    hand.click(hand.page.get_by_label("More about \u2068Tomasz"))
    _shot(hand.page, "day-menu-1440")
    hand.click(hand.page.get_by_role("button", name="Away today").first)
    expect(hand.page.locator("#displaced")).to_contain_text("6 clients to rebook")
    hand.page.wait_for_load_state("load")
    _shot(hand.page, "sick-1440")
    for n, one in enumerate(booked):
        row = hand.page.locator(f"#displaced-{one.pk}")
        if n < 4:
            hand.click(row.get_by_role("button", name="Move to \u2068Oluchi"))
        else:
            hand.click(row.get_by_role("button", name="Cancel"))
        left = f"{5 - n} client" if n < 5 else "Everyone is rebooked"
        expect(hand.page.locator("#displaced")).to_contain_text(left)
    _shot(hand.page, "sick-done-1440")

    assert Appointment.objects.filter(stylist=shop.stylists[1]).count() == 4
    print(
        "sick day:", hand.clicks, "clicks,", hand.keys, "keys,",
        _loads(hand), "page loads,", len(hand.requests), "requests",
    )  # fmt: skip
    assert hand.clicks == 8
    assert unexpected(hand.page) == []
    until(hand.page, "!document.querySelector('#progress.is-on')")


@pytest.mark.both
def test_back_after_a_refused_form_leads_to_the_form_as_typed(shop: Shop, seat: Seat) -> None:
    _book(shop, _client(shop, "Ann Lee"), 15, service=shop.cut, line=None)
    client = _client(shop, "Ngozi Adichie-Okonkwo", tested_days_ago=20)
    page = seat("imke", PASSWORD, viewport=DESK, worker=True)
    expect(page.locator("#day")).to_be_visible()
    taken_over(page)
    page.goto(f"/appointments/new/?client={client.pk}&day=2026-11-23&time=15:00")
    page.wait_for_load_state("load")
    page.get_by_text("Chair, note, price, repeat").click()
    page.locator("#id_note").fill("by the window")
    page.get_by_role("button", name="Book", exact=True).click()
    expect(page.locator("#booking .refusal, #booking .field--invalid").first).to_be_visible()
    page.goto("/clients/")
    page.wait_for_load_state("load")

    page.go_back()

    expect(page.get_by_role("heading", level=1)).to_have_text("Ngozi Adichie-Okonkwo")
    expect(page.locator("#id_note")).to_have_value("by the window")


def test_the_day_opens_at_now_and_is_walked_by_arrows(
    shop: Shop, seat: Seat, clock: time_machine.Traveller
) -> None:
    clock.move_to(dt.datetime(2026, 11, 23, 14, 0, tzinfo=dt.UTC))
    one = _book(shop, _client(shop, "Ann Lee"), 15, service=shop.cut, line=None)
    _book(shop, _client(shop, "Bea Moss"), 16, service=shop.cut, line=None)
    page = _at_the_desk(seat).page

    assert until(page, "document.querySelector('.diary').scrollTop > 0")
    assert page.evaluate(STOPS) == [1, 1]
    page.locator(f"#appointment-{one.pk}").focus()
    page.keyboard.press("ArrowDown")
    focused = page.evaluate("document.activeElement.textContent")
    assert "Bea Moss" in focused or "Check in" in focused
    page.keyboard.press("ArrowRight")
    assert (
        page.evaluate("document.activeElement.closest('.diary__day').dataset.name") == "Oluchi"
    )
    page.keyboard.press("F2")
    expect(page.locator("#find-anywhere-box")).to_be_focused()
    page.keyboard.press("Escape")
    assert (
        page.evaluate("document.activeElement.closest('.diary__day')?.dataset.name") == "Oluchi"
    )
    _shot(page, "day-1440")
    page.set_viewport_size({"width": 1024, "height": 768})
    _shot(page, "day-1024")
    page.set_viewport_size({"width": 390, "height": 844})
    _shot(page, "day-390")
    expect(page.locator(".day-list")).to_contain_text("Ann Lee")


def test_a_toast_covers_nothing_and_leaves(shop: Shop, seat: Seat) -> None:
    one = _book(shop, _client(shop, "Ann Lee"), 15, service=shop.cut, line=None)
    page = _at_the_desk(seat).page
    page.clock.install()
    page.goto(f"/appointments/{one.pk}/")
    page.locator("#change #id_note").fill("x")
    page.get_by_role("button", name="Save changes").click()
    toast = page.locator(".toast")
    expect(toast).to_contain_text("Changed")
    expect(page.locator("#live")).to_contain_text("Changed")
    assert page.evaluate(COVERED) == []
    page.clock.fast_forward(7000)
    expect(toast).to_have_count(0)


def test_a_small_screen_gets_a_list(shop: Shop, seat: Seat) -> None:
    _book(shop, _client(shop, "Ngozi Adichie-Okonkwo", tested_days_ago=20), 15)
    page = seat("imke", PASSWORD, viewport={"width": 390, "height": 844}, touch=True)

    expect(page.locator(".day-list")).to_contain_text("Ngozi Adichie-Okonkwo")
    expect(page.locator(".diary")).to_be_hidden()
    page.wait_for_load_state("load")
    fits = "document.documentElement.scrollWidth <= innerWidth"
    until(page, fits)  # styles and faces may still be arriving


@pytest.mark.parametrize("path", ["/day/", "/week/", "/clients/", "/patch-tests/", "/hours/"])
def test_the_desks_pages_pass_axe(shop: Shop, seat: Seat, path: str) -> None:
    from axe_playwright_python.sync_playwright import Axe

    _book(shop, _client(shop, "Ngozi Adichie-Okonkwo"), 15)
    page = _at_the_desk(seat).page
    page.goto(path)

    found = [v for v in Axe().run(page).response["violations"] if v["impact"] != "minor"]

    assert [(v["id"], [n["html"][:120] for n in v["nodes"]]) for v in found] == []
