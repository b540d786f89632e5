"""The client chooses and signs without scrolling, on a tablet that lies or stands."""

import re
from decimal import Decimal
from typing import Literal

import pytest
from playwright.sync_api import Page, ViewportSize

from clients.models import Client
from salon import languages
from salon.drawing.colour import hex_to_lab
from tests.browser.conftest import PASSWORD, TABLET
from tests.factories.consult import Story, zone
from tests.typed import Seat

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SHAPES: list[ViewportSize] = [TABLET, {"width": 820, "height": 1180}]
# How far each ends below the window, in CSS pixels; nothing is scrolled.
BELOW = """(selectors) => selectors.map((selector) => {
  const box = document.querySelector(selector).getBoundingClientRect();
  return Math.max(0, Math.round(box.bottom - innerHeight), Math.round(-box.top));
})"""
CHOICE = [
    ".portrait__head", ".portrait__slide", ".portrait__take", ".portrait__levels",
    ".portrait__chart > summary", ".client__head a",
]  # fmt: skip
SCROLLS = "document.documentElement.scrollHeight - innerHeight"
SIGN = [
    ".client-sign__words", ".signature__pad", "[name=has_understood]", ".card [type=submit]",
]  # fmt: skip
WORDS = """() => {
  const words = document.querySelector(".client-sign__words");
  const last = words.querySelector(".agreed__understood li:last-child");
  const height = words.clientHeight, page = document.documentElement;
  words.scrollTo(0, words.scrollHeight);
  const end = last.getBoundingClientRect().bottom - words.getBoundingClientRect().bottom;
  return [height, Math.round(Math.max(0, end)), page.scrollHeight - innerHeight];
}"""
LEAST_HEIGHT = 300


def _hand_over(page: Page, story: Story) -> None:
    page.wait_for_load_state()
    page.goto(f"/visits/{story.visit.pk}/choice/")
    page.locator("[form=hand-over], #hand-over button").first.click()
    page.wait_for_url("**/client/choice/")


def test_choice_and_signature_are_in_sight(story: Story, seat: Seat) -> None:
    """With the banner of an invented line, a wish for depth and two parts of hair.

    In German, whose words are longer: what fits there fits in English.
    """
    Client.objects.update(language="de")
    story.visit.refresh_from_db()
    line = story.visit.line
    line.is_starting_point = True
    line.save()
    ends = zone(lifted_level=Decimal("9.0"))
    story.answer().read(ends=ends)
    page = seat("tomasz", PASSWORD, viewport=TABLET, touch=True)
    _hand_over(page, story)

    page.goto(f"{page.url}?deeper=1&wanted_level=5")
    for shape in SHAPES:
        page.set_viewport_size(shape)
        assert page.evaluate(BELOW, CHOICE) == [0] * len(CHOICE), shape
        assert page.evaluate(SCROLLS) == 0, shape  # to its foot

    with languages.speaking("de"):
        story.choose()
    page.goto(f"/visits/{story.visit.pk}/client/sign/")
    assert page.locator(".agreed__statement").count() == 2
    for shape in SHAPES:
        page.set_viewport_size(shape)
        assert page.evaluate(BELOW, SIGN) == [0] * len(SIGN), shape
        height, hidden, scrolls = page.evaluate(WORDS)
        assert height >= LEAST_HEIGHT
        assert (hidden, scrolls) == (0, 0)  # the last word can be reached, the page stays


# The grey of whatever lies behind hair, and what is painted as large as a tenth of the page.
SURROUND = """() => {
  const all = [...document.querySelectorAll("html, body, main, main *")];
  const large = all.filter((one) => one.checkVisibility()).filter((one) => {
    const box = one.getBoundingClientRect();
    return box.width * box.height > (innerWidth * innerHeight) / 10;
  });
  const greys = large.map((one) => getComputedStyle(one).backgroundColor);
  return [...new Set(greys)].filter((grey) => grey !== "rgba(0, 0, 0, 0)");
}"""


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_the_clients_pages_are_one_dark_neutral_surround(
    story: Story, seat: Seat, theme: Literal["light", "dark"]
) -> None:
    """L* 26 in both themes, so that level 10 (L* 72) is seen light; nothing large is white."""
    story.answer().read()
    page = seat("tomasz", PASSWORD, viewport=TABLET, touch=True)
    page.emulate_media(color_scheme=theme)
    _hand_over(page, story)
    story.choose()
    for name in ("choice", "sign", "done"):
        page.goto(f"/visits/{story.visit.pk}/client/{name}/")
        greys = page.evaluate(SURROUND)
        assert greys
        for grey in greys:
            red, green, blue = (int(part) for part in re.findall(r"\d+", grey)[:3])
            assert red == green == blue, (name, grey)
            lightness = hex_to_lab(f"#{red:02x}{green:02x}{blue:02x}")[0]
            assert 24 <= lightness <= 31, (name, grey, lightness)
