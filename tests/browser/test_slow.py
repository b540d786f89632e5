"""A slow network says so at once; a timer is right whatever the tablet's clock says.

The page's own time is Playwright's: nothing here waits for it, and nothing is measured.
"""

import datetime as dt
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest
import time_machine
from django.utils import timezone
from playwright.sync_api import APIResponse, Page, Route, expect

from consult import services
from tests.browser.conftest import PASSWORD, TABLET, until_so
from tests.factories.consult import Story
from tests.typed import Seat

HEARS = "document.addEventListener('server:time', () => { window.heard = true; });"


@pytest.fixture
def bench(seat: Seat, story: Story) -> Callable[..., Page]:
    """Return a function that opens the bench on a tablet whose clock says what it likes."""

    def at(*, off: dt.timedelta = dt.timedelta()) -> Page:
        page = seat("tomasz", PASSWORD, viewport=TABLET)
        page.clock.install(time=timezone.now() + off)
        page.add_init_script(HEARS)
        page.goto(f"/visits/{story.visit.pk}/bench/")
        page.wait_for_load_state()
        # An answer on its way while a test moves the clocks would tell a time of its own.
        until_so(page, lambda: page.evaluate("() => window.heard === true"))
        return page

    return at


@contextmanager
def _unanswered(page: Page, pattern: str) -> Iterator[list[Route]]:
    """Let requests hang until the block is left."""
    hanging: list[Route] = []
    page.route(pattern, lambda route: hanging.append(route))  # noqa: PLW0108 - its own name
    yield hanging
    for route in hanging:
        route.continue_()
    page.unroute(pattern)


def _shows_within_200_ms(page: Page) -> None:
    page.clock.run_for(200)
    assert _is_on(page)


def _is_on(page: Page) -> bool:
    """Ask the page itself: an expectation would wait for the page that is on its way."""
    on: bool = page.evaluate("() => progress.classList.contains('is-on')")
    return on


def test_a_slow_network_shows_what_is_going_on_within_200_ms(
    bench: Callable[..., Page], story: Story
) -> None:
    story.to_bench()
    page = bench()

    with _unanswered(page, "**/rescale/") as hanging:  # a fragment
        page.locator(".weigh input[name^=in_bowl-]").first.check()
        until_so(page, lambda: hanging)
        _shows_within_200_ms(page)
    expect(page.locator("#progress")).not_to_have_class(re.compile("is-on"))

    with _unanswered(page, "**/bench/") as hanging:  # a form of the visit
        page.get_by_role("button", name="Bowl mixed").first.click()
        until_so(page, lambda: hanging)
        _shows_within_200_ms(page)
        page.clock.run_for(5000)
        expect(
            page.get_by_text("Waiting for the network. It will be sent automatically.")
        ).to_be_visible()
    expect(page.get_by_role("button", name="On the hair: start the clock")).to_be_visible()

    page.wait_for_load_state()  # a link works before the script that watches it is there

    # The browser itself waits for whole pages: an empty answer leaves this one standing.
    page.route(re.compile("/(formula|sign-out)/"), lambda route: route.fulfill(status=204))
    page.get_by_role("link", name="Change the formula").click()
    _shows_within_200_ms(page)
    page.reload()
    page.locator(".topbar details.menu > summary").last.click()
    page.get_by_role("button", name="Sign out").click()
    _shows_within_200_ms(page)


def _left(page: Page) -> float:
    """Return the minutes that the timer says are left."""
    text = page.locator("[data-left]").inner_text()
    minutes, seconds = text.strip("+").split(":")
    return (int(minutes) + int(seconds) / 60) * (-1 if text.startswith("+") else 1)


def _on_the_hair(story: Story, *, minutes: int) -> dt.datetime:
    """Put a bowl on the hair so long ago; return when its time is up."""
    story.to_bench()
    (bowl,) = story.mix()
    at = timezone.now() - dt.timedelta(minutes=minutes)
    services.start_processing(bowl=story.fresh(bowl), by=story.by, at=at)
    return at + dt.timedelta(minutes=bowl.formula.processing_minutes)


def _until(moment: dt.datetime) -> float:
    """Return the minutes until then; opening a page takes some on a busy machine."""
    return (moment - timezone.now()) / dt.timedelta(minutes=1)


@pytest.mark.parametrize("days", [1, -1])
def test_a_clock_that_is_wrong_by_a_day_changes_no_timer(
    bench: Callable[..., Page], story: Story, days: int
) -> None:
    over = _on_the_hair(story, minutes=10)

    page = bench(off=dt.timedelta(days=days))

    assert _left(page) == pytest.approx(_until(over), abs=0.3)


@pytest.mark.parametrize("days", [dt.timedelta(days=1), dt.timedelta(days=-1)])
def test_a_clock_that_is_set_meanwhile_changes_no_timer(
    bench: Callable[..., Page], story: Story, days: dt.timedelta
) -> None:
    over = _on_the_hair(story, minutes=10)
    page = bench()

    with page.expect_response(re.compile("/here/")):
        page.clock.set_system_time(timezone.now() + days)
        page.clock.run_for(600)
    page.clock.run_for(600)

    expect(page.locator("[data-timer]")).to_have_attribute("data-state", "runs")
    assert _left(page) == pytest.approx(_until(over), abs=0.5)


def test_a_lid_that_was_closed_while_colour_processed_changes_no_timer(
    bench: Callable[..., Page], story: Story, clock: time_machine.Traveller
) -> None:
    over = _on_the_hair(story, minutes=10)
    page = bench()

    page.context.set_offline(offline=True)
    _sleep(page, clock, until=over)

    expect(page.get_by_text("Time is up", exact=True)).to_be_visible()
    assert _left(page) == pytest.approx(_until(over), abs=0.3)
    page.context.set_offline(offline=False)
    with page.expect_response(re.compile("/here/")):
        page.clock.run_for(10_000)
    assert _left(page) == pytest.approx(_until(over), abs=0.5)


def test_an_answer_that_took_long_sets_no_timer_back(
    bench: Callable[..., Page], story: Story, clock: time_machine.Traveller
) -> None:
    """It comes with the moment at which it was written."""
    _on_the_hair(story, minutes=10)
    page = bench()
    asked: list[tuple[Route, APIResponse]] = []
    page.route("**/here/", lambda route: asked.append((route, route.fetch())))
    page.clock.run_for(10_000)
    until_so(page, lambda: asked)
    (route, answer), *_ = asked

    clock.shift(dt.timedelta(seconds=15))
    page.clock.run_for(15_000)
    left = _left(page)
    with page.expect_response(re.compile("/here/")):
        route.fulfill(response=answer)
    page.clock.run_for(600)

    assert _left(page) <= left
    page.unroute_all(behavior="ignoreErrors")


def _sleep(page: Page, clock: time_machine.Traveller, *, until: dt.datetime) -> None:
    """Let half an hour pass, beyond a moment; the page's timers go off once at most."""
    asleep = dt.timedelta(minutes=30)
    assert until - timezone.now() < asleep
    clock.shift(asleep)
    page.clock.fast_forward(asleep // dt.timedelta(milliseconds=1))
