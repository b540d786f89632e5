"""What a page costs the network and how much it jumps, on files served as a salon serves them.

The aims are the project's own: a first load of at most 15 requests and 150 kB, a later page
of at most 40 kB; a layout shift of at most 0.05, half of what web.dev calls good (Cumulative
Layout Shift, https://web.dev/articles/cls). Bytes are as the browser received them.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.handlers.wsgi import WSGIHandler
from django.core.management import call_command
from django.test import override_settings
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page
from pytest_django.live_server_helper import LiveServer

from consult.models import Visit
from consult.visit.loading import facts_of
from consult.visit.path import Step
from salon.models import Role
from tests.browser.pages.walk import Walk

FIRST_REQUESTS, FIRST_KB, LATER_KB, MOST_SHIFT = 15, 150, 40, 0.05
PHONE = {"width": 390, "height": 844}
# As Lighthouse emulates a phone's network ("slow 4G"): files come one after the other, late.
SLOW = {
    "offline": False,
    "latency": 150,
    "downloadThroughput": 204_800,
    "uploadThroughput": 93_750,
}
WATCH = """window.shifted = 0; new PerformanceObserver((seen) => {
  for (const shift of seen.getEntries())
    if (!shift.hadRecentInput) window.shifted += shift.value;
}).observe({ type: "layout-shift", buffered: true });"""
FONTS_BEFORE_PAINT = """() => {
  const painted = performance.getEntriesByName("first-contentful-paint")[0].startTime;
  const files = performance.getEntriesByType("resource");
  return files.filter((one) => one.name.endsWith(".woff2") && one.startTime < painted).length;
}"""


@contextmanager
def _as_in_a_salon(folder: Path) -> Iterator[LiveServer]:
    """Serve collected files under hashed names, compressed, by WhiteNoise."""
    storage = {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"}
    with override_settings(
        STORAGES={**settings.STORAGES, "staticfiles": storage},
        STATIC_ROOT=folder,
        WHITENOISE_AUTOREFRESH=False,
        WHITENOISE_USE_FINDERS=False,
    ):
        call_command("collectstatic", interactive=False, verbosity=0)
        server = LiveServer("127.0.0.1", start=False)
        server.thread.static_handler = _bare  # type: ignore[assignment]
        server.start()
        try:
            yield server
        finally:
            server.stop()


def _bare(application: WSGIHandler) -> WSGIHandler:
    """Leave the static files to WhiteNoise."""
    return application


class Meter:
    """Counts what a browser receives."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.received: dict[str, float] = {}
        self.addresses: dict[str, str] = {}
        self.devtools = page.context.new_cdp_session(page)
        self.devtools.send("Network.enable")
        self.devtools.on("Network.responseReceived", self._name)
        self.devtools.on("Network.loadingFinished", self._count)
        page.add_init_script(WATCH)

    def _name(self, event: dict[str, Any]) -> None:
        if not event["response"].get("fromDiskCache"):
            self.addresses[event["requestId"]] = event["response"]["url"]

    def _count(self, event: dict[str, Any]) -> None:
        if event["requestId"] in self.addresses:
            self.received[event["requestId"]] = event["encodedDataLength"]

    def load(self, address: str) -> tuple[int, float]:
        """Return the requests and the kilobytes of loading a page."""
        self.received.clear()
        self.addresses.clear()
        self.page.goto(address, wait_until="networkidle")
        return len(self.received), sum(self.received.values()) / 1000


def _due(step: Step) -> int:
    open_ones = Visit.objects.open()
    return next(one.pk for one in open_ones if facts_of(one, at=timezone.now()).due == step)


@pytest.fixture
def served(walk: Walk, tmp_path: Path) -> Iterator[Walk]:
    """The filled salon behind a server that serves as a salon's does."""
    before = walk.server
    with _as_in_a_salon(tmp_path) as walk.server:
        yield walk
        walk.close()
    walk.server = before


def test_pages_are_light_and_nothing_jumps(served: Walk) -> None:
    today, choice = reverse("consult:today"), f"/visits/{_due(Step.CHOICE)}/choice/"
    bench = f"/visits/{_due(Step.BENCH)}/bench/"
    found = []
    for role, later in (
        (Role.OWNER, [today, reverse("formulas:lines")]),
        (Role.STYLIST, [choice, bench]),
        (Role.RECEPTIONIST, [reverse("clients:find")]),
    ):
        page = served.seat(served.visitor(role))
        meter = Meter(page)
        requests, size = meter.load("/")
        fonts = page.evaluate(FONTS_BEFORE_PAINT)
        if requests > FIRST_REQUESTS or size > FIRST_KB or fonts > 2:
            found.append(
                f"{role} {page.url}: {requests} requests, {size:.0f} kB, {fonts} fonts"
            )
        for address in later:
            _requests, size = meter.load(address)
            if size > LATER_KB:
                found.append(f"{role} {address}: {size:.0f} kB more")
    for address in (today, choice, bench):
        page = served.seat(served.visitor(Role.STYLIST), **PHONE)
        meter = Meter(page)
        meter.devtools.send("Network.emulateNetworkConditions", SLOW)
        meter.load(address)
        shifted = page.evaluate("() => window.shifted")
        if shifted > MOST_SHIFT:
            found.append(f"{address} shifts by {shifted:.3f}")
    assert not found, "\n".join(found)
