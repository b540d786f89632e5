"""Every step of a visit on a tablet, lying and upright: what is to be done is in sight."""

from collections.abc import Callable

import pytest
from playwright.sync_api import ViewportSize

from tests.browser.conftest import PASSWORD, TABLET
from tests.factories.consult import Story
from tests.typed import Seat

UPRIGHT: ViewportSize = {"width": 820, "height": 1180}

# The step's main control, its first field (or what is pressed there), and its button.
STEPS: dict[str, tuple[str, str, str]] = {
    "safety": (".ask:first-of-type .segments", ".ask input", "button[form=safety]"),
    "hair": (
        "[data-zone=roots] .stepper",
        "[data-zone=roots] [name=roots-natural_level]",
        "button[form=hair]",
    ),
    "choice": (".portrait__head", ".portrait__slide", "button[form=choice]"),
    "sign": (".signature__pad", "[name=has_understood]", "button[form=sign]"),
    "formula": (
        ".recipe, .shared",
        ".recipe [type=submit], .shared [type=submit]",
        ".recipe [type=submit], .shared [type=submit]",
    ),
    "bench": (
        ".weigh",
        ".weigh input:not([type=hidden])",
        ".weigh [type=submit], .action-bar .button",
    ),
    "result": (".result__compare", ".result input[type=radio]", "button[form=result]"),
    "card": ("#close", "#close input[type=date]", "button[form=close]"),
}  # fmt: skip

# How much of each lies outside the window or under the bar, in CSS pixels; nothing is scrolled.
MEASURE = """([control, field, button]) => {
  const bar = document.querySelector(".action-bar");
  const foot = bar ? bar.getBoundingClientRect().top : innerHeight;
  const seen = (selector) => [...document.querySelectorAll(selector)].find(
    (one) => one.checkVisibility() && one.getBoundingClientRect().height > 0);
  const top = (one) => one.getBoundingClientRect().top;
  const under = (one, most) => {
    if (!one) return 9999;
    const box = one.getBoundingClientRect();
    return Math.max(0, Math.round(box.bottom - most), Math.round(-box.top));
  };
  const press = seen(button);
  return {
    scrolled: scrollY,
    control: seen(control) ? Math.max(0, Math.round(top(seen(control)) + 44 - foot)) : 9999,
    field: under(seen(field)?.closest("label, .stepper, .tick") ?? seen(field), foot),
    button: under(press, bar && bar.contains(press) ? innerHeight : foot),
    line: Math.round(document.querySelector(".visit-line").getBoundingClientRect().height),
  };
}"""


def _walk(story: Story) -> list[tuple[str, Callable[[], object]]]:
    """Return each step with what has to happen first."""
    return [
        ("safety", lambda: None),
        ("hair", story.answer),
        ("choice", story.read),
        ("sign", story.choose),
        ("formula", story.sign),
        ("bench", story.decide),
        ("result", story.process),
        ("card", story.see),
    ]


@pytest.mark.parametrize("shape", [TABLET, UPRIGHT], ids=["lying", "upright"])
def test_each_step_shows_its_control_its_first_field_and_its_button(
    story: Story, seat: Seat, shape: dict[str, object]
) -> None:
    page = seat("tomasz", PASSWORD, viewport=shape, touch=True)
    found = {}
    for step, before in _walk(story):
        before()
        page.goto(f"/visits/{story.visit.pk}/{step}/")
        found[step] = page.evaluate(MEASURE, list(STEPS[step]))

    wrong = {
        step: told
        for step, told in found.items()
        if told["scrolled"] or told["control"] or told["field"] or told["button"]
    }
    assert wrong == {}
    lines = {told["line"] for told in found.values()}
    assert max(lines) <= (52 if shape == TABLET else 104), lines
