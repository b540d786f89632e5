"""What is entered at the bench stays as it was entered, however late the answers come.

Each answer of the sheet is held back by the test; 300 ms lie between two entries, so at the
longer delays the second is made while the first is still on its way.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from decimal import Decimal

import pytest
from playwright.sync_api import Page, Position, Route, ViewportSize, expect

from consult.models import BowlMixed
from tests.browser.conftest import PASSWORD, TABLET, unexpected, until
from tests.factories.consult import Story, zone
from tests.typed import Seat, present

UPRIGHT: ViewportSize = {"width": 820, "height": 1180}
APART = 300


@pytest.fixture
def sheet(seat: Seat, story: Story) -> Callable[..., Page]:
    """Return a function that opens the bench of a formula with two shades or more."""

    def at(viewport: ViewportSize = TABLET) -> Page:
        story.to_bench(aim=35)
        assert story.visit.formulas.get().lines.count() >= 2
        page = seat("tomasz", PASSWORD, viewport=viewport, touch=True)
        page.goto(f"/visits/{story.visit.pk}/bench/")
        page.wait_for_load_state()
        return page

    return at


@contextmanager
def _late(page: Page, milliseconds: int) -> Iterator[list[Route]]:
    """Hold back every answer of the sheet for so long, and keep the order they come in."""
    seen: list[Route] = []

    def hold(route: Route) -> None:
        seen.append(route)
        page.wait_for_timeout(milliseconds)
        route.continue_()

    page.route("**/rescale/", hold)
    yield seen
    page.unroute("**/rescale/")


def _settled(page: Page) -> None:
    until(page, "document.querySelector('form[data-weigh]').dataset.state !== 'asking'")


@pytest.mark.parametrize("delay", [150, 300, 600, 2000])
def test_two_ticks_and_two_weights_close_together_both_stay(
    sheet: Callable[..., Page], story: Story, delay: int
) -> None:
    page = sheet(TABLET if delay < 600 else UPRIGHT)
    lines = list(story.visit.formulas.get().lines.all())[:2]
    wanted = {line.shade_id: line.grams + Decimal("0.3") for line in lines}

    with _late(page, delay):
        for line in lines:
            page.locator(f"[name=in_bowl-{line.shade_id}]").tap()
            field = page.locator(f"[name=poured-{line.shade_id}]")
            field.fill(str(wanted[line.shade_id]))
            field.press("Tab")
            page.wait_for_timeout(APART)
        page.locator("[name=developer_grams]").fill("41.5")
        page.locator("[name=developer_grams]").press("Tab")
        _settled(page)

    for line in lines:
        expect(page.locator(f"[name=in_bowl-{line.shade_id}]")).to_be_checked()
        expect(page.locator(f"[name=poured-{line.shade_id}]")).to_have_value(
            str(wanted[line.shade_id])
        )
    expect(page.locator("[name=in_bowl-developer]")).to_be_checked()
    page.get_by_role("button", name="Bowl mixed").tap()
    expect(page.get_by_role("button", name="On the hair: start the clock")).to_be_visible()
    bowl = BowlMixed.objects.get()
    poured = {row.shade_id: row.poured_grams for row in bowl.lines.all()}
    assert {pk: poured[pk] for pk in wanted} == wanted
    assert bowl.developer_grams == Decimal("41.5")
    assert unexpected(page) == []


@pytest.mark.parametrize("delay", [150, 300, 600, 2000])
def test_every_tap_on_plus_counts_and_a_held_button_runs(
    sheet: Callable[..., Page], story: Story, delay: int
) -> None:
    page = sheet()
    line = present(story.visit.formulas.get().lines.first())
    field = page.locator(f"[name=poured-{line.shade_id}]")
    more = page.locator(".weigh > li").first.get_by_role("button", name="More")

    with _late(page, delay):
        for _tap in range(10):
            more.tap()
        _settled(page)
        assert Decimal(field.input_value()) == line.grams + 1

        more.hover()
        page.mouse.down()
        until(page, f"Number(document.querySelector('[name=poured-{line.shade_id}]').value)"
                    f" > {line.grams + 6}")  # fmt: skip
        page.mouse.up()
        _settled(page)
        held = Decimal(field.input_value())
    assert held % Decimal("0.5") == 0  # it ran in larger steps
    expect(page.get_by_text("Too much poured")).to_be_visible()
    assert unexpected(page) == []


def test_what_is_pressed_wins_over_an_answer_on_its_way(
    sheet: Callable[..., Page], story: Story
) -> None:
    """The weight still to come is recorded as it was shown when "Bowl mixed" was pressed."""
    page = sheet()
    first, second = list(story.visit.formulas.get().lines.all())[:2]
    held: list[Route] = []
    page.route("**/rescale/", lambda route: held.append(route))  # noqa: PLW0108

    field = page.locator(f"[name=poured-{first.shade_id}]")
    field.fill(str(first.grams * 2))
    field.press("Tab")
    until(page, "document.querySelector('form[data-weigh]').dataset.state === 'asking'")
    page.get_by_role("button", name="Bowl mixed").tap()

    expect(page.get_by_role("button", name="On the hair: start the clock")).to_be_visible()
    rows = {row.shade_id: row.poured_grams for row in BowlMixed.objects.get().lines.all()}
    assert (rows[first.shade_id], rows[second.shade_id]) == (first.grams * 2, second.grams)


def test_a_label_of_the_second_bowl_ticks_the_second_bowl(seat: Seat, story: Story) -> None:
    story.answer().read(roots=zone(lifted_level=Decimal("7.0")))
    story.choose()
    story.sign()
    story.decide()
    page = seat("tomasz", PASSWORD, viewport=UPRIGHT, touch=True)
    page.goto(f"/visits/{story.visit.pk}/bench/")
    page.wait_for_load_state()
    forms = page.locator("form[data-weigh]")
    expect(forms).to_have_count(2)

    corner: Position = {"x": 4, "y": 4}  # of the label: its box is in the middle
    forms.nth(1).locator(".weigh__tick").first.tap(position=corner)

    expect(forms.nth(1).locator("[name^=in_bowl-]").first).to_be_checked()
    expect(forms.nth(0).locator("[name^=in_bowl-]:checked")).to_have_count(0)
