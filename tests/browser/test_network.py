"""The network goes in the middle of each screen of a visit: nothing is lost or sent twice."""

import datetime as dt
import re
from collections.abc import Callable

import pytest
import time_machine
from django.utils import timezone
from playwright.sync_api import BrowserContext, Page, expect

from clients.models import SafetyAnswer
from clients.skin_test.safety import QUESTIONS
from consult.models import (
    BowlMixed,
    Choice,
    Draft,
    Formula,
    HairFacts,
    MarkKind,
    ProcessingMark,
    ResultSeen,
    SignOff,
    Visit,
)
from consult.visit.loading import facts_of
from tests.browser.conftest import box_of, fill_the_rest
from tests.factories.consult import Story

WAITS = "Waiting for the network."
HELD = "Waiting for the network. It will be sent automatically."
SECRET_WORDS = "sore behind the left ear"

# The page's own steady clock goes on as the server's is moved.
LATER = """(milliseconds) => {
  const now = performance.now.bind(performance);
  performance.now = () => now() + milliseconds;
}"""


def _cut(context: BrowserContext) -> None:
    context.set_offline(True)


def _held_then_sent(page: Page, button: str, to: str) -> None:
    """Press a button without network, see that it waits, and that it goes once it is back."""
    page.get_by_role("button", name=button, exact=True).first.click()
    expect(page.get_by_text(HELD)).to_be_visible()
    page.context.set_offline(False)
    expect(page).to_have_url(re.compile(to))
    page.wait_for_load_state()


def _safety(page: Page) -> None:
    strip = page.locator("#network")
    assert strip.evaluate("strip => strip.clientHeight") == 0  # all is well: no room taken
    questions = page.locator(".ask")
    for nth, question in enumerate(questions.all()):
        if nth == 2:
            _cut(page.context)
        question.locator("label", has_text=re.compile(r"^\s*No\s*$")).click()
    expect(page.get_by_text(WAITS, exact=True)).to_be_visible()
    _held_then_sent(page, "Save the answers", "/hair/$")
    assert SafetyAnswer.objects.count() == len(QUESTIONS)


def _hair(page: Page) -> None:
    page.get_by_label("Natural level").first.fill("5.5")
    _cut(page.context)
    page.get_by_label("Lifted level").first.fill("7.5")
    fill_the_rest(page)
    page.get_by_label("Note on the scalp").fill(SECRET_WORDS)
    _held_then_sent(page, "Save the reading", "/choice/$")
    assert [facts.scalp for facts in HairFacts.objects.all()] == [SECRET_WORDS]


def _choice(page: Page) -> None:
    page.locator("[data-to=cool]").click()
    _cut(page.context)
    page.locator("[data-to=between]").click()
    _held_then_sent(page, "Use this", "/sign/$")
    assert Choice.objects.count() == 1


def _sign(page: Page) -> None:
    page.get_by_label("Name of the person who signs").fill("Ada Brandt-Oyelaran")
    _cut(page.context)
    page.get_by_label("I have read this").check()
    box = box_of(page.locator(".signature__pad"))
    assert box
    page.mouse.move(box["x"] + 30, box["y"] + 60)
    page.mouse.down()
    for step in range(12):
        page.mouse.move(box["x"] + 30 + 15 * step, box["y"] + 60 + (step % 3) * 20)
    page.mouse.up()
    _held_then_sent(page, "Sign", "/formula/$")
    assert [signed.signed_name for signed in SignOff.objects.all()] == ["Ada Brandt-Oyelaran"]


def _formula(page: Page) -> None:
    page.get_by_role("link", name="Change it").first.click()
    page.wait_for_url(re.compile("zones="))
    before = page.locator("#prediction").inner_text()
    _cut(page.context)
    grams = page.get_by_label("Bowl, with developer")
    grams.fill("80")
    grams.press("Tab")
    expect(page.get_by_text(WAITS, exact=True)).to_be_visible()
    page.context.set_offline(False)
    expect(page.locator("#prediction")).not_to_have_text(before)
    _cut(page.context)
    _held_then_sent(page, "Use this mix", "/bench/$")
    assert Formula.objects.count() == 1


def _bench(page: Page) -> None:
    poured = page.locator(".weigh input[name^=poured-]").first
    planned = float(poured.input_value())
    _cut(page.context)
    poured.fill(f"{planned + 2:.1f}")
    page.locator(".weigh input[name^=in_bowl-]").first.click()
    expect(page.get_by_text(WAITS, exact=True)).to_be_visible()
    page.context.set_offline(False)
    expect(page.get_by_text("Too much poured")).to_be_visible()
    _cut(page.context)
    _held_then_sent(page, "Bowl mixed", "/bench/$")
    expect(page.get_by_role("button", name="On the hair: start the clock")).to_be_visible()
    page.wait_for_load_state()
    bowl = BowlMixed.objects.get()
    assert float(bowl.lines.order_by("pk")[0].poured_grams) == pytest.approx(planned + 2)


def _time(page: Page, clock: time_machine.Traveller) -> None:
    _cut(page.context)
    page.get_by_role("button", name="On the hair: start the clock").click()
    expect(page.get_by_text(HELD)).to_be_visible()
    pressed = timezone.now()
    clock.shift(dt.timedelta(seconds=2.6))
    page.evaluate(LATER, 2600)
    page.context.set_offline(False)
    expect(page.get_by_role("button", name="Rinsed")).to_be_visible()
    page.wait_for_load_state()
    started = ProcessingMark.objects.get(kind=MarkKind.START)
    assert abs((started.marked_at - pressed).total_seconds()) < 1.5
    clock.shift(dt.timedelta(minutes=20))
    _cut(page.context)
    _held_then_sent(page, "Rinsed", "/result/$")
    assert ProcessingMark.objects.filter(kind=MarkKind.END).count() == 1


def _result(page: Page) -> None:
    page.locator("[id$=depth] label").nth(3).click()
    _cut(page.context)
    page.locator("[id$=warmth] label").nth(2).click()
    page.get_by_label("Note").fill("Even from root to tip.")
    _held_then_sent(page, "Save result", "/card/$")
    assert [seen.note for seen in ResultSeen.objects.all()] == ["Even from root to tip."]


def test_the_network_goes_on_every_screen_and_each_is_saved_once(
    at_step: Callable[..., Page], story: Story, clock: time_machine.Traveller
) -> None:
    page = at_step("safety")

    _safety(page)
    _hair(page)
    _choice(page)
    _sign(page)
    _formula(page)
    _bench(page)
    _time(page, clock)
    _result(page)

    visit = Visit.objects.get()
    assert facts_of(visit, at=timezone.now()).due == "card"
    assert visit.events.count() == visit.version
    assert not Draft.objects.exists()
