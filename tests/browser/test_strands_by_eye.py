"""Reading and result are picked from drawn strands, by keyboard and screen reader as well."""

import pytest
from playwright.sync_api import Page, expect

from consult.models import ResultSeen
from tests.browser.conftest import PASSWORD, TABLET
from tests.factories.consult import Story
from tests.typed import Seat

SHAPES = """strands => strands.map((one) =>
  [...one.querySelectorAll("path")].map((line) => line.getAttribute("d")).join())"""


def _strands(page: Page, group: str) -> list[str]:
    """Return the outlines of the strands of a question, whatever their colours."""
    drawn = page.get_by_role("group", name=group).first.locator("svg.strand")
    shapes: list[str] = drawn.evaluate_all(SHAPES)
    return shapes


@pytest.mark.browser
def test_strands_are_radio_buttons_of_one_drawing(story: Story, seat: Seat) -> None:
    story.to_bench().process()
    page = seat("tomasz", PASSWORD, viewport=TABLET)
    page.wait_for_load_state()
    page.goto(f"/visits/{story.visit.pk}/hair/")
    reading = _strands(page, "Undertone")
    page.goto(f"/visits/{story.visit.pk}/result/")
    page.wait_for_load_state("load")

    shapes = _strands(page, "Lighter or deeper?") + _strands(page, "Warmer or cooler?")
    assert len(shapes) == 10
    assert set(shapes) == set(reading)  # one drawing, in other colours
    for name, label in (
        ("Lighter or deeper?", "as predicted"),
        ("Warmer or cooler?", "cooler"),
    ):
        group = page.get_by_role("group", name=name).first
        expect(group.get_by_role("radio")).to_have_count(5)
        group.get_by_role("radio").first.focus()
        for _n in range(4):
            if group.get_by_role("radio", name=label, exact=True).is_checked():
                break
            page.keyboard.press("ArrowRight")
        expect(group.get_by_role("radio", name=label, exact=True)).to_be_checked()
    page.get_by_role("button", name="Save result").press("Enter")
    expect(page.get_by_text("Result saved.").first).to_be_visible()

    seen = ResultSeen.objects.get()
    predicted = seen.predicted or {}
    cooler = predicted["warmth_left_percent"]["value"] - predicted["read_in"]["warmth"]
    assert seen.warmth_left_percent == pytest.approx(max(cooler, -50), abs=0.51)
