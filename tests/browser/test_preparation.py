"""A lightening and a test on the hair, recorded on the tablet held upright."""

from collections.abc import Callable

from playwright.sync_api import Page, ViewportSize, expect

from consult import selectors
from tests.browser.conftest import unexpected
from tests.factories.consult import Story

UPRIGHT: ViewportSize = {"width": 820, "height": 1180}


def test_a_step_and_a_test_on_the_hair_are_recorded_by_touch(
    at_step: Callable[..., Page], story: Story
) -> None:
    story.answer(metallic="yes")
    page = at_step("hair", viewport=UPRIGHT)
    first = page.locator(".tests-due", has_text="Do this first")
    expect(first.first).to_be_visible()
    page.get_by_role("link", name="Add a lightening or another step").click()
    page.get_by_label("Product", exact=True).fill("Blue powder")
    page.get_by_label("Developer", exact=False).first.fill("6")
    page.get_by_label("1 : 2", exact=True).check()
    page.get_by_label("mid-lengths").uncheck()
    page.get_by_label("Level reached").fill("8.5")
    page.get_by_role("button", name="Save the step").click()
    expect(page.get_by_text("4\u00a0% on the hair")).to_be_visible()
    page.get_by_role("link", name="Continue").click()
    expect(page.locator("[name=roots-lifted_level]")).to_have_value("8.5")

    page.get_by_role("link", name="Tests on the hair").click()
    expect(page.get_by_text("20 parts of 6 % peroxide")).to_be_visible()
    page.wait_for_load_state()
    fizz, stretch = page.locator("#test-incompatibility"), page.locator("#test-elasticity")
    stretch.get_by_label("Note").fill("wet, at the crown")
    expect(page.get_by_text("Draft saved")).to_be_visible()
    fizz.get_by_role("button", name="Save the result").click()  # refused: nothing was seen yet
    expect(fizz.locator(".errorlist")).to_be_visible()
    expect(stretch.get_by_label("Note")).to_have_value("wet, at the crown")
    page.get_by_label("fizzing, heat or a colour change", exact=True).check()
    fizz.get_by_role("button", name="Save the result").click()

    expect(page.get_by_text("rules out colour today")).to_be_visible()
    expect(stretch.get_by_text("Saved since then:")).to_have_count(1)
    page.wait_for_load_state()
    page.get_by_role("button", name="Restore it").click()
    stretch.get_by_label("comes back slowly").check()
    stretch.get_by_role("button", name="Save the result").click()
    expect(page.get_by_text("wet, at the crown")).to_be_visible()  # its own save is no conflict
    wide = page.evaluate("document.documentElement.scrollWidth")
    assert wide <= UPRIGHT["width"]
    assert [step.zones for step in selectors.steps_in_force(story.visit)] == ["roots,ends"]
    assert unexpected(page) == []
