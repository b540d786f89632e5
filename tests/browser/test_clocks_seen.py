"""The countdown and the next act are in the first screen, also under a locked one's cover."""

import datetime as dt

import pytest
from django.utils import timezone
from playwright.sync_api import Locator, Page, ViewportSize, expect

from consult import services
from tests.browser.conftest import PASSWORD, TABLET, box_of, unexpected, until
from tests.factories.consult import Story
from tests.typed import Seat

UPRIGHT: ViewportSize = {"width": 820, "height": 1180}


def _in_the_window(page: Page, one: Locator) -> bool:
    box, window = box_of(one), page.viewport_size
    assert window is not None
    height = window["height"]
    return box["y"] >= 0 and box["y"] + box["height"] <= height


@pytest.mark.parametrize("viewport", [TABLET, UPRIGHT])
def test_mixed_on_the_hair_rinsed_are_pressed_in_the_bar(
    seat: Seat, story: Story, viewport: ViewportSize
) -> None:
    story.to_bench()
    page = seat("tomasz", PASSWORD, viewport=viewport, touch=True)
    page.goto(f"/visits/{story.visit.pk}/bench/")

    for words in ("Bowl mixed", "On the hair: start the clock", "Rinsed"):
        button = page.locator(".action-bar").get_by_role("button", name=words)
        expect(button).to_be_visible()
        page.wait_for_load_state()
        box = box_of(button)
        assert box["height"] >= 64
        assert _in_the_window(page, button)
        if words == "Rinsed":
            break
        button.tap()

    countdown = page.locator(".timer [data-left]")
    clock = page.locator(".visit-foot [data-clock-left]")
    assert page.evaluate("scrollY") == 0
    assert _in_the_window(page, countdown)
    assert _in_the_window(page, clock)
    bar = box_of(page.locator(".visit-foot"))
    shown = box_of(countdown)
    assert shown["y"] + shown["height"] <= bar["y"]  # above the bar, not under it
    page.evaluate("scrollTo(0, document.body.scrollHeight)")
    assert _in_the_window(page, clock)
    assert unexpected(page) == []


@pytest.mark.parametrize("viewport", [TABLET, UPRIGHT])
def test_a_locked_screen_shows_the_running_clock(
    seat: Seat, story: Story, viewport: ViewportSize
) -> None:
    story.to_bench()
    (bowl,) = story.mix()
    begun = timezone.now() - dt.timedelta(minutes=5)
    services.start_processing(bowl=story.fresh(bowl), by=story.by, at=begun)
    page = seat("tomasz", PASSWORD, viewport=viewport, touch=True)
    page.goto(f"/visits/{story.visit.pk}/bench/")
    page.wait_for_load_state()

    page.locator(".topbar details.menu > summary").last.click()
    page.get_by_role("button", name="Lock").click()

    left = page.locator("#cover [data-clock-left]")
    expect(left).to_be_visible()
    assert _in_the_window(page, left)
    before = left.inner_text()
    until(page, f"document.querySelector('#cover [data-clock-left]').innerText !== '{before}'")
    minutes = int(left.inner_text().split(":")[0])
    assert minutes == bowl.formula.processing_minutes - 6
    expect(page.locator("#cover")).to_contain_text("Bowl 1")
    expect(page.locator("#cover")).not_to_contain_text("Brandt")
