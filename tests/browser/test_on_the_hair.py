"""Colour on the hair, on both shapes of a tablet: it reacts; a reading is corrected."""

import datetime as dt
import re
from collections.abc import Callable
from decimal import Decimal

import pytest
import time_machine
from django.utils import timezone
from playwright.sync_api import Page, ViewportSize, expect

from consult import services
from consult.models import BowlMixed, MarkKind, ProcessingMark, Visit
from tests.browser.conftest import box_of, unexpected
from tests.factories.consult import Story, zone

TABLETS = [
    pytest.param({"width": 1024, "height": 768}, id="landscape"),
    pytest.param({"width": 820, "height": 1180}, id="portrait"),
]


@pytest.fixture
def two_bowls(story: Story, clock: time_machine.Traveller) -> Story:
    """A visit with two bowls on the hair."""
    story.answer().read(roots=zone(lifted_level=Decimal("7.0")))
    story.choose()
    story.sign()
    story.decide()
    for bowl in story.mix():
        services.start_processing(bowl=story.fresh(bowl), by=story.by, at=story.at)
    story.visit.refresh_from_db()
    clock.shift(story.at - timezone.now() + dt.timedelta(minutes=10))
    return story


@pytest.mark.parametrize("viewport", TABLETS)
def test_it_reacts_is_one_press_away_and_leads_to_the_closed_visit(
    two_bowls: Story, at_step: Callable[..., Page], viewport: ViewportSize
) -> None:
    page: Page = at_step("bench", viewport=viewport)
    button = page.get_by_role("button", name="Reaction: rinse now")
    box = box_of(button)
    assert box is not None
    assert box["height"] >= 64
    assert box["y"] + box["height"] <= viewport["height"]

    button.click()

    expect(page.get_by_role("heading", level=1)).to_have_text("Rinse now.")
    first = page.locator(".react__steps li").first
    expect(first).to_be_in_viewport()
    expect(first).to_contain_text("call the emergency number at once")
    expect(page.locator(".react__steps")).to_contain_text("lukewarm")
    ended = ProcessingMark.objects.filter(kind=MarkKind.END)
    assert ended.count() == 2
    page.locator("label", has_text="redness or a rash").click()
    page.get_by_role("button", name="Save the description").click()
    page.wait_for_url("**/card/")
    page.get_by_role("button", name="Close the visit").click()
    expect(page.get_by_role("button", name="Close the visit")).to_have_count(0)
    expect(page.get_by_text("stopped: reaction").first).to_be_visible()
    assert Visit.objects.get().status == "closed"
    assert unexpected(page) == []


@pytest.mark.parametrize("viewport", TABLETS)
def test_a_reading_corrected_while_two_bowls_run_leaves_the_bench_open(
    two_bowls: Story, at_step: Callable[..., Page], viewport: ViewportSize
) -> None:
    page: Page = at_step("hair", viewport=viewport)
    page.locator("[data-zone=roots]").get_by_label("Lifted level").fill("8")
    for label in ("short", "thin"):  # the story read zones only
        page.get_by_label(label, exact=True).check()
    page.get_by_role("button", name="Save the reading").click()

    page.wait_for_url("**/bench/")
    expect(page.locator("#due-before-mixing")).to_contain_text("read again after the choice")
    rinsed = page.get_by_role("button", name=re.compile("^Rinsed"))
    expect(rinsed).to_have_count(2)
    rinsed.first.click()
    expect(rinsed).to_have_count(1)
    rinsed.first.click()
    expect(rinsed).to_have_count(0)  # rinsed early: the bench asks why, and lets it be undone
    page.get_by_role("link", name="Go to the result").click()
    page.wait_for_url(re.compile("/result/$"))
    expect(page.locator(".result")).to_have_count(2)
    _decide_again_and_never_mix(two_bowls)
    page.reload()
    for one in page.locator(".result").all():
        one.locator("[id$=depth] label").nth(2).click()
        one.locator("[id$=warmth] label").nth(2).click()
    page.get_by_role("button", name="Save result").click()
    expect(page).to_have_url(re.compile("/card/$"))
    page.get_by_role("button", name="Close the visit").click()

    record = page.locator("[aria-labelledby=record]")
    expect(record).to_be_visible()
    text = record.inner_text()
    for bowl in BowlMixed.objects.all():
        for line in bowl.lines.all():
            assert f"{line.shade.name} {line.poured_grams}" in text
    assert "Planned but never mixed" in text
    assert unexpected(page) == []


def _decide_again_and_never_mix(story: Story) -> None:
    """Sign and decide a second formula for the corrected hair; no bowl of it is mixed."""
    story.visit.refresh_from_db()
    story.at = timezone.now()
    story.choose(70)
    story.sign()
    story.decide()
