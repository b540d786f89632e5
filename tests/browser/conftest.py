"""Real Chromium against the live server; the clock moves by time-machine."""

import datetime as dt
import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import suppress
from http import HTTPStatus
from typing import Any
from urllib.parse import urlsplit
from weakref import WeakKeyDictionary

import pytest
import time_machine
from django.contrib.staticfiles.handlers import StaticFilesHandler
from django.db import connection
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.test import Client as Visitor
from django.utils import timezone
from django.utils.cache import patch_cache_control
from playwright.sync_api import (
    Browser,
    BrowserContext,
    ConsoleMessage,
    FloatRect,
    Locator,
    Page,
    ViewportSize,
    expect,
)
from playwright.sync_api import Error as PlaywrightError
from playwright.sync_api import TimeoutError as PlaywrightTimeout
from pytest_django.live_server_helper import LiveServer

from salon.models import Role
from tests.factories.consult import Story, opened
from tests.factories.salon import SalonFactory, StaffFactory
from tests.typed import Seat

os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
# A busy machine is slow, not wrong: only a test that fails ever waits this long (seconds).
PATIENCE = float(os.environ.get("PATIENCE", "30"))
expect.set_options(timeout=PATIENCE * 1000)

PASSWORD = "three kettles and a lamp"
AGENT = "Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 Chrome/140.0.0.0 Safari/537.36"
DESK: ViewportSize = {"width": 1440, "height": 900}
TABLET: ViewportSize = {"width": 1024, "height": 768}

# What went wrong in each page, as its console says it.
_faults: WeakKeyDictionary[Page, list[str]] = WeakKeyDictionary()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark everything here as a browser test."""
    for item in items:
        if "tests/browser" in item.nodeid:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session", autouse=True)
def database_in_a_file(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Give SQLite a file: in memory every thread of the live server shares one connection.

    Pages ask several things at once, and one connection cannot hold two transactions.
    """
    if connection.vendor == "sqlite" and connection.settings_dict["NAME"] == ":memory:":
        path = str(tmp_path_factory.mktemp("salon") / "browser.sqlite3")
        connection.settings_dict["NAME"] = connection.settings_dict["TEST"]["NAME"] = path
        # A test may lose its database with the machine: nothing waits for the disk.
        fast = "PRAGMA synchronous=OFF;PRAGMA journal_mode=MEMORY;"
        connection.settings_dict["OPTIONS"]["init_command"] = fast


@pytest.fixture(scope="session", autouse=True)
def kept_styles_and_scripts() -> Iterator[None]:
    """Let a browser keep styles and scripts, as hashed names let it keep the real server's."""
    serve = StaticFilesHandler.serve

    def serve_and_keep(self: StaticFilesHandler, request: HttpRequest) -> HttpResponseBase:
        response = serve(self, request)
        patch_cache_control(response, max_age=365 * 86_400)  # tests move the clock by days
        return response

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(StaticFilesHandler, "serve", serve_and_keep)
        yield


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, object]) -> dict[str, object]:
    return {
        **browser_type_launch_args,
        "executable_path": os.environ.get("CHROMIUM") or shutil.which("chromium"),
        "args": ["--no-sandbox", "--disable-gpu", "--disable-background-networking"],
    }


@pytest.fixture
def seat(browser: Browser, live_server: LiveServer) -> Iterator[Seat]:
    """Return a function that gives someone a browser of their own, signed in."""
    contexts = []

    def sign_in(
        username: str,
        password: str,
        *,
        viewport: ViewportSize,
        touch: bool = False,
        worker: bool = False,
        cookies: dict[str, str] | None = None,
    ) -> Page:
        # Requests that a service worker answers are out of reach of page.route().
        context = browser.new_context(
            base_url=live_server.url,
            viewport=viewport,
            has_touch=touch,
            locale="en-GB",
            service_workers="allow" if worker else "block",
        )
        context.set_default_timeout(max(8, PATIENCE) * 1000)
        contexts.append(context)
        context.add_cookies(
            [
                {"name": name, "value": value, "url": live_server.url}
                for name, value in (cookies or {}).items()
            ]
        )
        page = context.new_page()
        note_faults(page)
        if worker:
            # A worker takes over the second page that it sees.
            sign_in_by_hand(page, username, password)
            return page
        door = Visitor(headers={"host": urlsplit(live_server.url).netloc, "user-agent": AGENT})
        door.cookies.load(cookies or {})
        answer = door.post("/sign-in/", {"username": username, "password": password})
        if answer.status_code == HTTPStatus.FOUND:
            # The walks of an account fill the form; here it would cost two pages more.
            _take_cookies(context, door, live_server.url)
            page.goto(answer.headers["Location"])
        else:
            sign_in_by_hand(page, username, password)
        return page

    yield sign_in
    for context in contexts:
        for page in context.pages:
            # A request that a test answers itself may be on its way still: cut off, it would
            # fail the test that comes next.
            page.unroute_all(behavior="ignoreErrors")
        context.close()


def _take_cookies(context: BrowserContext, door: Visitor, url: str) -> None:
    context.add_cookies(
        [
            {"name": name, "value": cookie.value, "url": url}
            for name, cookie in door.cookies.items()
        ]
    )


def sign_in_by_hand(page: Page, username: str, password: str) -> None:
    """Fill the form of the sign-in page and press its button."""
    page.goto("/sign-in/")
    page.get_by_label("User name").fill(username)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in").click()


@pytest.fixture
def clock() -> Iterator[time_machine.Traveller]:
    """Let the test move the time of the whole server; it goes on ticking."""
    monday = dt.datetime(2026, 11, 23, 10, 0, tzinfo=dt.UTC)
    with time_machine.travel(monday, tick=True) as coordinates:
        yield coordinates


@pytest.fixture
def story(transactional_db: None, clock: time_machine.Traveller) -> Story:
    """A visit that has just opened, and two people who may work on it."""
    salon = SalonFactory()
    people = {}
    for username, role in (("tomasz", Role.STYLIST), ("brigid", Role.OWNER)):
        people[username] = StaffFactory(
            salon=salon, role=role, username=username, display_name=username.title()
        )
        people[username].set_password(PASSWORD)
        people[username].save()
    return opened(salon, stylist=people["tomasz"], at=timezone.now() - dt.timedelta(minutes=30))


@pytest.fixture
def at_step(seat: Seat, story: Story) -> Callable[..., Page]:
    """Return a function that opens a step of the story's visit for someone."""

    def at(step: str, *, who: str = "tomasz", viewport: ViewportSize = TABLET) -> Page:
        page = seat(who, PASSWORD, viewport=viewport)
        page.goto(f"/visits/{story.visit.pk}/{step}/")
        return page

    return at


def until(page: Page, expression: str, *, seconds: float = PATIENCE) -> Any:
    """Ask the page until it answers something true, and return that.

    Playwright's own wait_for_function() evaluates again inside the page, which the content
    security policy refuses whenever the first answer is not the one waited for.
    """
    waited, answer = 0.0, None
    while waited < seconds:
        with suppress(PlaywrightError):  # another page has come in meanwhile
            answer = page.evaluate(expression)
        if answer:
            return answer
        page.wait_for_timeout(50)
        waited += 0.05
    raise PlaywrightTimeout(f"never true: {expression[:80]}")


def taken_over(page: Page) -> None:
    """Let the service worker take over the page, which has come in.

    It claims the pages that are ready when it starts (Service Workers, `Clients.claim`). One
    that was on its way then has none until it is loaded again: so is the next that is opened.
    """
    page.wait_for_load_state("load")
    until(
        page,
        "navigator.serviceWorker.getRegistration()"
        ".then((one) => one?.active?.state === 'activated')",
    )
    if page.evaluate("navigator.serviceWorker.controller === null"):
        page.reload()
    until(page, "navigator.serviceWorker.controller !== null")


def until_so(page: Page, is_so: Callable[[], object]) -> None:
    """Let the page go on until something is true that the test itself sees."""
    for _turn in range(round(PATIENCE / 0.02)):
        if is_so():
            return
        page.wait_for_timeout(20)
    raise PlaywrightTimeout("it never came to that")


def next_frame(page: Page) -> None:
    """Wait until the page has drawn what its scripts have asked to be drawn."""
    page.evaluate("() => new Promise((seen) => requestAnimationFrame(() => seen()))")


def note_faults(page: Page) -> None:
    """Write down what goes wrong in a page from now on."""
    found = _faults.setdefault(page, [])

    def note(message: ConsoleMessage) -> None:
        if message.type == "error":
            found.append(message.text)

    page.on("pageerror", lambda error: found.append(str(error)))
    page.on("console", note)


def faults_of(page: Page) -> list[str]:
    """Return what went wrong in a page."""
    return _faults[page]


def unexpected(page: Page) -> list[str]:
    """Return its faults without refusals that a test provokes and polls cut off by leaving."""
    known = ("409", "422", "423", "htmx:afterRequest", "htmx:sendAbort", "htmx:sendError")
    return [fault for fault in faults_of(page) if not any(word in fault for word in known)]


def box_of(locator: Locator) -> FloatRect:
    """Return where an element is, in pixels; it has to be shown."""
    box = locator.bounding_box()
    assert box is not None
    return box


def fill_the_rest(page: Page) -> None:
    """Read what the roots' levels leave open; the other zones are like the roots."""
    roots = page.locator("[data-zone=roots]")
    roots.get_by_label("average").check()
    roots.get_by_label("White hair").fill("0")
    roots.locator("#id_roots-porosity label").nth(2).click()
    for zone in ("mid_lengths", "ends"):
        page.locator(f"[data-zone={zone}] .zone__same input").check()
    for name in ("length", "density"):
        page.locator(f"#id_{name} label").nth(1).click()
