"""The tablet in Chromium: without network, signed out, on the home screen.

Outside check: what Chromium's own installability check reports (DevTools protocol,
Page.getInstallabilityErrors), and the caches as the browser lists them. The page's clock is
moved by the browser, the server's by time-machine.
"""

import datetime as dt
import re
from typing import Literal

import pytest
import time_machine
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.utils import timezone
from playwright.sync_api import Page, expect

from salon.models import Role, Salon, Staff, StaffPin
from salon.tablet import services
from tests.browser.conftest import TABLET, box_of, taken_over, unexpected, until
from tests.factories.salon import SalonFactory, StaffFactory
from tests.typed import Seat

PASSWORD = "three kettles and a lamp"
PINS = {"tomasz": "418527", "brigid": "750264"}


@pytest.fixture
def house(transactional_db: None) -> Salon:
    salon = SalonFactory()
    for name, role in (("tomasz", Role.STYLIST), ("brigid", Role.OWNER)):
        member = StaffFactory(
            salon=salon, username=name, display_name=name.title(), role=role, has_column=True
        )
        member.set_password(PASSWORD)
        member.save()
        services.set_pin(by=member, pin=PINS[name], at=timezone.now())
    return salon


@pytest.fixture
def tablet(house: Salon, locks: None, clock: time_machine.Traveller, seat: Seat) -> Page:
    """An enrolled tablet whose stylist has just signed in."""
    owner = Staff.objects.get(username="brigid")
    _device, token = services.enrol_device(name="Counter tablet", by=owner, at=timezone.now())
    cookie = {settings.DEVICE_COOKIE_NAME: token}
    return seat("tomasz", PASSWORD, viewport=TABLET, touch=True, cookies=cookie)


def _ready(page: Page) -> None:
    page.wait_for_url(lambda url: "/sign-in/" not in url)
    taken_over(page)


def _kept(page: Page) -> list[str]:
    kept: list[str] = page.evaluate(
        """async () => {
            const found = [];
            for (const name of await caches.keys()) {
                for (const request of await (await caches.open(name)).keys()) {
                    found.push(new URL(request.url).pathname);
                }
            }
            return found;
        }"""
    )
    return kept


def test_it_installs_and_leaves_nothing_of_the_salon_on_the_tablet(
    house: Salon, seat: Seat
) -> None:
    page = seat("tomasz", PASSWORD, viewport=TABLET, touch=True, worker=True)
    _ready(page)
    devtools = page.context.new_cdp_session(page)
    manifest = devtools.send("Page.getAppManifest")
    errors = devtools.send("Page.getInstallabilityErrors")["installabilityErrors"]

    assert manifest["url"].endswith("/manifest.webmanifest")
    assert manifest["errors"] == []
    assert [error["errorId"] for error in errors if error["errorId"] != "in-incognito"] == []

    page.goto("/day/")
    page.goto("/clients/")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    page.context.set_offline(True)
    page.goto("/today/")
    expect(page.get_by_role("heading", name="No network")).to_be_visible()
    assert unexpected(page) == []

    page.context.set_offline(False)
    page.get_by_role("button", name="Try again").click()
    expect(page.get_by_role("heading", name="No network")).to_be_hidden()
    assert page.url.endswith("/today/")

    page.locator("details.menu summary").click()
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    for address in ("/day/", "/clients/", "/today/"):
        page.goto(address)
        expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    page.context.set_offline(True)
    for address in ("/day/", "/clients/"):
        page.goto(address)
        expect(page.get_by_role("heading", name="No network")).to_be_visible()
    kept = _kept(page)
    assert "/offline/" in kept
    assert [
        path for path in kept if path != "/offline/" and not path.startswith("/static/")
    ] == []


def _tap(page: Page, pin: str) -> None:
    for digit in pin:
        page.locator(f"[data-digit='{digit}']").tap()


def _menu(page: Page) -> None:
    page.locator("details.menu summary").tap()


def _leave_alone(page: Page, clock: time_machine.Traveller, **gone: int) -> None:
    clock.shift(dt.timedelta(**gone))
    page.clock.fast_forward(int(dt.timedelta(**gone).total_seconds()) * 1000)


def test_a_form_without_network_is_not_sent_by_itself(house: Salon, seat: Seat) -> None:
    page = seat("tomasz", PASSWORD, viewport=TABLET, worker=True)
    page.goto("/your-pin/")
    _ready(page)
    for label in ("New PIN, six digits", "Repeat the PIN"):
        page.get_by_label(label).fill("604918")
    page.get_by_label("Password").first.fill(PASSWORD)
    page.context.set_offline(True)
    page.get_by_role("button", name="Change the PIN").click()
    expect(page.get_by_text("What you sent has not arrived")).to_be_visible()
    expect(page.get_by_text("This page could not be reached")).to_be_hidden()
    before = StaffPin.objects.get(staff__username="tomasz").secret

    page.context.set_offline(False)
    expect(page.get_by_text("The network is back.", exact=True)).to_be_visible()
    page.get_by_role("button", name="Back to the form").click()

    expect(page.get_by_role("heading", name="Your PIN")).to_be_visible()
    assert StaffPin.objects.get(staff__username="tomasz").secret == before


def test_another_worker_takes_the_old_ones_files_away(house: Salon, seat: Seat) -> None:
    page = seat("tomasz", PASSWORD, viewport=TABLET, worker=True)
    _ready(page)
    page.evaluate(
        """async () => {
            const old = await caches.open("static-of-last-month");
            await old.put("/static/old.css", new Response(""));
            await (await navigator.serviceWorker.getRegistration()).unregister();
        }"""
    )

    # The old worker goes when nothing that it serves is open any more.
    page.goto("/manifest.webmanifest")
    until(page, "navigator.serviceWorker.getRegistration().then((one) => !one)")
    page.goto("/day/")
    _ready(page)

    until(page, "caches.keys().then((names) => names.length === 1)")
    assert "/static/old.css" not in _kept(page)


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_axe_finds_nothing_on_the_tablets_pages(
    tablet: Page, theme: Literal["light", "dark"]
) -> None:
    tablet.emulate_media(color_scheme=theme)
    found = []
    for address in ("/switch/", "/your-pin/", "/offline/", "/today/"):
        tablet.goto(address)
        if address == "/today/":
            _menu(tablet)
            tablet.get_by_role("button", name="Lock the screen").tap()
            expect(tablet.get_by_role("heading", name="Locked")).to_be_visible()
        violations = Axe().run(tablet).response["violations"]
        found += [(address, v["id"], v["nodes"][0]["html"]) for v in violations]

    assert found == []


def test_the_tablet_goes_from_hand_to_hand_by_touch(tablet: Page) -> None:
    _menu(tablet)
    tablet.get_by_role("link", name="Switch person").tap()
    keys = tablet.locator(".pin__key")
    expect(keys).to_have_count(12)
    for box in (box_of(key) for key in keys.all()):
        assert min(box["width"], box["height"]) >= 44

    tablet.get_by_text("Brigid", exact=True).tap()
    _tap(tablet, "941873")
    expect(tablet.get_by_text("This PIN was not accepted")).to_be_visible()
    expect(tablet.get_by_label("Brigid")).to_be_checked()
    tablet.wait_for_load_state()
    _tap(tablet, "75026")
    expect(tablet.locator("[data-pin-said]")).to_have_text("5 digits entered")
    tablet.get_by_role("button", name="Delete the last digit").tap()
    _tap(tablet, "64")

    expect(tablet.locator("details.menu summary")).to_contain_text("Brigid")
    assert unexpected(tablet) == []


def test_the_pad_works_from_the_keyboard_alone(tablet: Page) -> None:
    tablet.goto("/switch/")
    tablet.get_by_label("Brigid").focus()
    tablet.keyboard.press("Space")
    expect(tablet.get_by_label("PIN")).to_be_focused()
    tablet.keyboard.type(PINS["brigid"])

    expect(tablet.locator("details.menu summary")).to_contain_text("Brigid")


def test_a_screen_left_alone_is_covered_and_keeps_what_was_typed(
    tablet: Page, clock: time_machine.Traveller
) -> None:
    tablet.clock.install(time=timezone.now())
    tablet.goto("/clients/new/")
    tablet.locator("#id_name").fill("Ada Brandt")
    address = tablet.url
    _leave_alone(tablet, clock, minutes=4)
    expect(tablet.locator("#cover")).to_be_hidden()

    _leave_alone(tablet, clock, minutes=1, seconds=6)

    expect(tablet.locator("#cover")).to_be_visible()
    expect(tablet.get_by_role("heading", name="Locked")).to_be_visible()
    expect(tablet).to_have_title("Locked")
    expect(tablet.locator("#id_name")).to_be_hidden()
    assert tablet.locator("main").evaluate("main => main.innerText.trim()") == ""
    tablet.keyboard.press("Escape")
    tablet.keyboard.press("Escape")
    expect(tablet.locator("#cover")).to_be_visible()
    other = tablet.context.new_page()
    other.goto("/clients/")
    expect(other).to_have_url(re.compile("/locked/"))
    other.close()

    _tap(tablet, "941873")
    expect(tablet.get_by_text("This PIN was not accepted")).to_be_visible()
    _tap(tablet, PINS["tomasz"])

    expect(tablet.locator("#cover")).to_be_hidden()
    expect(tablet.locator("#id_name")).to_have_value("Ada Brandt")
    assert tablet.url == address
    tablet.get_by_role("button", name="Add client").tap()
    expect(tablet.get_by_role("heading", level=1)).to_have_text("Ada Brandt")
    assert unexpected(tablet) == []


def test_polls_are_no_touch_and_touches_are(
    tablet: Page, clock: time_machine.Traveller
) -> None:
    tablet.clock.install(time=timezone.now())
    tablet.goto("/day/")
    for _ in range(3):
        with tablet.expect_response(re.compile("since=")):
            _leave_alone(tablet, clock, minutes=2)
        tablet.locator("main").tap(position={"x": 5, "y": 5})
        with tablet.expect_response(re.compile("since=")) as told:
            _leave_alone(tablet, clock, seconds=6)
        assert int(told.value.request.headers["x-idle-seconds"]) < 10
    expect(tablet.locator("#cover")).to_be_hidden()

    with tablet.expect_response(re.compile("since=")) as told:
        _leave_alone(tablet, clock, minutes=2)
    assert int(told.value.request.headers["x-idle-seconds"]) >= 120
    _leave_alone(tablet, clock, minutes=3, seconds=6)

    expect(tablet.locator("#cover")).to_be_visible()
    tablet.reload()
    expect(tablet).to_have_url(re.compile(r"/locked/\?next=%2Fday%2F"))
    tablet.get_by_text("Use the password instead").tap()
    tablet.get_by_label("Password").fill(PASSWORD)
    tablet.get_by_role("button", name="Unlock").tap()
    expect(tablet).to_have_url(re.compile("/day/$"))


def test_the_screen_is_locked_before_going_away(tablet: Page) -> None:
    _menu(tablet)
    tablet.get_by_role("button", name="Lock the screen").tap()
    expect(tablet.get_by_role("heading", name="Locked")).to_be_visible()

    tablet.get_by_role("link", name="Someone else").tap()
    tablet.get_by_text("Brigid", exact=True).tap()
    _tap(tablet, PINS["brigid"])

    expect(tablet.locator("details.menu summary")).to_contain_text("Brigid")
    assert unexpected(tablet) == []
