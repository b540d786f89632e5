"""Timers on a tablet: a mark calls once, by sound, vibration and words, whatever its clock."""

import datetime as dt

import pytest
import time_machine
from django.utils import timezone
from playwright.sync_api import Page, expect

from consult import services
from consult.demo import cast
from consult.models import ProcessingCheck
from salon import services as house
from salon.models import Role
from tests.browser.conftest import TABLET, unexpected, until
from tests.factories.consult import Story, opened
from tests.typed import Seat

PASSWORD = "three kettles and a lamp"
# Counts notes and vibrations; the second line puts the tablet's clock a day ahead.
LISTEN = """
  window.notes = 0; window.buzzes = 0;
  const start = OscillatorNode.prototype.start;
  OscillatorNode.prototype.start = function (...when) {
    window.notes += 1;
    return start.apply(this, when);
  };
  navigator.vibrate = () => { window.buzzes += 1; return true; };
"""
A_DAY_WRONG = "const now = Date.now; Date.now = () => now() + 86400000;"


@pytest.fixture
def running(transactional_db: None, clock: time_machine.Traveller) -> Story:
    """A bowl that has been on the hair for a minute less than its line's first mark."""
    at = timezone.now() - dt.timedelta(hours=2)
    salon, owner = house.found_salon(
        at=at, owner_username="owner", owner_name="Brigid", password=PASSWORD,
        **cast.SALON,
    )  # fmt: skip
    stylist = house.add_member(
        by=owner, at=at, password=PASSWORD, username="stylist", display_name="Tomasz",
        role=Role.STYLIST, has_column=True,
    )  # fmt: skip
    story = opened(salon, stylist=stylist, at=at)
    story.visit.line.check_minutes = [10]
    story.visit.line.save()
    story.to_bench()
    (bowl,) = story.mix()
    begun = timezone.now() - dt.timedelta(minutes=9)
    services.start_processing(bowl=story.fresh(bowl), by=stylist, at=begun)
    return story


def _left(page: Page) -> int:
    minutes, seconds = page.locator("[data-left]").inner_text().split(":")
    return 60 * int(minutes) + int(seconds)


def test_a_mark_calls_once_and_is_noted_with_one_tap(
    running: Story, seat: Seat, clock: time_machine.Traveller
) -> None:
    tablet = seat("stylist", PASSWORD, viewport=TABLET, touch=True)
    tablet.clock.install(time=timezone.now())
    tablet.add_init_script(LISTEN)
    tablet.add_init_script(A_DAY_WRONG)
    tablet.goto(f"/visits/{running.visit.pk}/bench/")

    sound = tablet.locator("[data-sound]")
    expect(sound).to_contain_text("Turn sound on")
    sound.tap()
    expect(sound).to_contain_text("Sound is on")
    assert 600 < _left(tablet) <= 661
    due = tablet.locator(".timer [data-mark='10'] [data-due]")
    expect(due).to_be_hidden()
    before = tablet.evaluate("window.notes")
    clock.shift(dt.timedelta(seconds=61))
    tablet.clock.fast_forward(61_000)
    expect(due).to_be_visible()
    until(tablet, f"window.notes === {before + 2} && window.buzzes === 1")
    expect(tablet.locator("[aria-live]", has_text="Wipe a strand dry")).to_have_count(1)

    tablet.reload()
    expect(due).to_be_visible()
    assert tablet.evaluate("[window.notes, window.buzzes]") == [0, 0]
    tablet.get_by_role("button", name="Nearly there").tap()
    expect(tablet.locator(".timer [data-mark='10']")).to_contain_text("done")
    expect(tablet.locator("[data-left]")).not_to_have_text("20:00")
    check = ProcessingCheck.objects.get()
    assert (check.mark_minutes, check.seen) == (10, "nearly")
    assert unexpected(tablet) == []


def test_sound_stays_off_where_it_was_put_off(running: Story, seat: Seat) -> None:
    tablet = seat("stylist", PASSWORD, viewport=TABLET, touch=True)
    tablet.goto(f"/visits/{running.visit.pk}/bench/")
    sound = tablet.locator("[data-sound]")
    sound.tap()
    sound.tap()
    expect(sound).to_contain_text("Sound is off")

    tablet.reload()

    expect(sound).to_contain_text("Sound is off")
    expect(sound).to_have_attribute("aria-pressed", "false")
