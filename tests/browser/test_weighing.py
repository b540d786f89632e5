"""What is entered at the bench stays as it was entered, however late the answers come.

Each answer of the sheet is held back until the test lets it go: in turn with the entries, one
entry late, or only after the last of them.
"""

from collections.abc import Callable
from decimal import Decimal

import pytest
from playwright.sync_api import Page, Position, Route, ViewportSize, expect

from consult.models import BowlMixed
from tests.browser.conftest import PASSWORD, TABLET, unexpected, until, until_so
from tests.factories.consult import Story, zone
from tests.typed import Seat, present

UPRIGHT: ViewportSize = {"width": 820, "height": 1180}


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


class Answers:
    """The answers of the sheet, held back until they are let go."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.held: list[Route] = []
        self.is_open = False
        page.route("**/rescale/", self._hold)

    def _hold(self, route: Route) -> None:
        if self.is_open:
            route.continue_()
        else:
            self.held.append(route)

    def asked(self) -> None:
        """Wait until the page has asked for one."""
        until_so(self.page, lambda: self.held)

    def let_go(self) -> None:
        """Let those that are held come in."""
        for route in self.held:
            route.continue_()
        self.held.clear()

    def settle(self) -> None:
        """Let everything come in, from now on at once; wait until nothing is asked any more."""
        self.is_open = True
        self.let_go()
        until(
            self.page, "document.querySelector('form[data-weigh]').dataset.state !== 'asking'"
        )


IN_TURN, ONE_LATE, ALL_LATE = "in turn", "one entry late", "after the last entry"


@pytest.mark.parametrize("when", [IN_TURN, ONE_LATE, ALL_LATE])
def test_two_ticks_and_two_weights_close_together_both_stay(
    sheet: Callable[..., Page], story: Story, when: str
) -> None:
    page = sheet(TABLET if when == IN_TURN else UPRIGHT)
    lines = list(story.visit.formulas.get().lines.all())[:2]
    wanted = {line.shade_id: line.grams + Decimal("0.3") for line in lines}
    answers = Answers(page)

    for line in lines:
        page.locator(f"[name=in_bowl-{line.shade_id}]").tap()
        field = page.locator(f"[name=poured-{line.shade_id}]")
        field.fill(str(wanted[line.shade_id]))
        if when == ONE_LATE:
            answers.let_go()
        field.press("Tab")
        answers.asked()
        if when == IN_TURN:
            answers.settle()
            answers.is_open = False
    page.locator("[name=developer_grams]").fill("41.5")
    page.locator("[name=developer_grams]").press("Tab")
    answers.settle()

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


@pytest.mark.parametrize("when", [IN_TURN, ALL_LATE])
def test_every_tap_on_plus_counts_and_a_held_button_runs(
    sheet: Callable[..., Page], story: Story, when: str
) -> None:
    page = sheet()
    line = present(story.visit.formulas.get().lines.first())
    field = page.locator(f"[name=poured-{line.shade_id}]")
    more = page.locator(".weigh > li").first.get_by_role("button", name="More")
    answers = Answers(page)

    for tap in range(10):
        more.tap()
        if when == IN_TURN or tap == 0:
            answers.asked()
        if when == IN_TURN:
            answers.let_go()
    answers.settle()
    assert Decimal(field.input_value()) == line.grams + 1

    answers.is_open = when == IN_TURN
    more.hover()
    page.mouse.down()
    until(page, f"Number(document.querySelector('[name=poured-{line.shade_id}]').value)"
                f" > {line.grams + 6}")  # fmt: skip
    page.mouse.up()
    answers.settle()
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
