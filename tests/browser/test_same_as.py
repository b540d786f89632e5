"""A part that reads "same as the roots" is looked at by itself after all."""

from collections.abc import Callable

from playwright.sync_api import Page, expect

from tests.browser.conftest import faults_of
from tests.factories.consult import Story


def test_a_part_opens_with_what_is_typed_above(
    at_step: Callable[..., Page], story: Story
) -> None:
    story.answer()
    page = at_step("hair")
    page.locator("[name=roots-natural_level]").fill("5")
    page.locator("[name=roots-lifted_level]").fill("8")
    page.locator("[name=roots-white_percent]").fill("15")
    same = page.locator("[data-zone=mid_lengths] .zone__same input")
    same.check()
    # The roots are corrected while the mid-lengths still follow.
    page.locator("[name=roots-lifted_level]").fill("7.5")

    same.uncheck()

    lifted = page.locator("[name=mid_lengths-lifted_level]")
    expect(lifted).to_have_value("7.5")
    expect(page.locator("[name=mid_lengths-natural_level]")).to_have_value("5")
    expect(page.locator("[name=mid_lengths-white_percent]")).to_have_value("15")
    lifted.fill("8.5")
    same.check()
    same.uncheck()
    expect(lifted).to_have_value("7.5")
    assert faults_of(page) == []
