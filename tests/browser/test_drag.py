"""The picture follows the finger: what a move of the client's control costs, in counts.

Thirty frames a second on a slow tablet are kept by doing little: one drawing for each frame, no
layout that a script forces, nothing asked of the server. What that is in milliseconds says
`python -m tests.measure_drag`.
"""

import itertools
import json
import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from playwright.sync_api import CDPSession, Page

from consult.drawing.portrait import portrait_svg, tone_shares
from salon.drawing.colour import Lab, hex_to_lab, shifted
from salon.drawing.coverage import centred
from salon.drawing.strand import room
from tests.browser.conftest import PASSWORD, TABLET, box_of, until
from tests.factories.consult import Story, zone
from tests.typed import Seat

MOVES, SLOWER = 24, 4
# Counts drawings, and whatever makes a browser lay out before it would.
WATCH = """() => {
  window.counted = { drawn: 0, forced: 0 };
  const recolour = window.strands.recolourHead;
  window.strands.recolourHead = (...given) => {
    window.counted.drawn += 1;
    return recolour(...given);
  };
  for (const [of, names] of [
    [Element.prototype, ["getBoundingClientRect", "getClientRects", "scrollIntoView"]],
    [window, ["getComputedStyle"]],
  ]) for (const name of names) {
    const real = of[name];
    of[name] = function (...given) {
      window.counted.forced += 1;
      return real.apply(this, given);
    };
  }
  for (const [of, names] of [
    [HTMLElement.prototype, ["offsetWidth", "offsetHeight", "offsetTop", "offsetLeft"]],
    [Element.prototype, ["clientWidth", "clientHeight", "scrollWidth", "scrollHeight"]],
  ]) for (const name of names) {
    const real = Object.getOwnPropertyDescriptor(of, name);
    Object.defineProperty(of, name, {
      get() {
        window.counted.forced += 1;
        return real.get.call(this);
      },
    });
  }
}"""
# The frame in which a move is heard, and the one in which it is drawn.
FRAME = """() => new Promise((done) =>
  requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done))))"""
STOPS = """() => [...document.querySelectorAll("[data-after] [data-tone] stop")].map((stop) =>
  [stop.parentElement.dataset.tone, stop.dataset.zone, stop.getAttribute("stop-color")])"""
COUNTED = ("LayoutCount", "RecalcStyleCount")


@pytest.fixture
def choice(story: Story, seat: Seat) -> Page:
    """The client's choice for hair of two colours, with what is counted."""
    story.answer().read(ends=zone(lifted_level=Decimal(9)))
    page = seat("tomasz", PASSWORD, viewport=TABLET)
    page.wait_for_load_state()
    page.goto(f"/visits/{story.visit.pk}/choice/")
    page.locator("[form=hand-over]").first.click()
    page.wait_for_url("**/client/choice/")
    page.wait_for_load_state("networkidle")
    until(page, "document.querySelector('[data-head]').dataset.ready")
    page.evaluate(WATCH)
    return page


def _places(page: Page) -> list[dict[str, Any]]:
    told = page.locator("[data-head]").get_attribute("data-head")
    places: list[dict[str, Any]] = json.loads(told or "")["places"]
    return places


def _metrics(devtools: CDPSession) -> dict[str, float]:
    every = devtools.send("Performance.getMetrics")["metrics"]
    return {one["name"]: one["value"] for one in every}


def _grab(page: Page) -> tuple[float, float, float]:
    """Press on the control; return its start, its width and its middle's height."""
    box = box_of(page.locator("#head-aim"))
    middle = box["y"] + box["height"] / 2
    page.mouse.move(box["x"] + box["width"] / 2, middle)
    page.mouse.down()
    page.evaluate(FRAME)
    return box["x"], box["width"], middle


def _kept_by(page: Page, act: Callable[[], None]) -> None:
    """Let go: only now the place is kept as a draft."""
    with page.expect_response(re.compile("/draft/$")) as kept:
        act()
    assert kept.value.ok


def _stops_of(colours: dict[str, Lab]) -> dict[tuple[str, str], str]:
    """Return what the server would draw: the colour of each tone and zone."""
    tones = tone_shares()
    found = {}
    for name, lab in colours.items():
        reach = room(lab[0])
        base = centred(lab, tones, room=reach)
        for tone in tones:
            found[f"{tone:.2f}", name] = shifted(base, tone * reach)
    return found


def _off(drawn: list[list[str]], colours: dict[str, Lab]) -> int:
    """Return the largest difference of a channel, of 255, from what the server would draw."""
    expected = _stops_of(colours)
    assert len(drawn) > len(expected)
    pairs = [(drawn_as, expected[tone, name]) for tone, name, drawn_as in drawn]
    return max(
        abs(int(one[n : n + 2], 16) - int(other[n : n + 2], 16))
        for one, other in pairs
        for n in (1, 3, 5)
    )


def _mixed(places: list[dict[str, Any]], value: float) -> dict[str, Lab]:
    """Return the colours between two places, in proportion in L*a*b*."""
    for warm, cool in itertools.pairwise(places):
        if warm["warmth"] >= value >= cool["warmth"]:
            share = (warm["warmth"] - value) / (warm["warmth"] - cool["warmth"])
            break
    else:
        raise AssertionError(f"{value} lies beyond the places")
    mixed: dict[str, Lab] = {}
    for name in warm["hex"]:
        one, other = hex_to_lab(warm["hex"][name]), hex_to_lab(cool["hex"][name])
        lightness, a, b = (x + share * (y - x) for x, y in zip(one, other, strict=True))
        mixed[name] = (lightness, a, b)
    return mixed


def test_each_move_is_one_drawing_and_nothing_else(choice: Page) -> None:
    """Also on a processor four times slower: each move has its picture by its next frame."""
    requests: list[str] = []
    choice.on("request", lambda request: requests.append(request.url))
    devtools = choice.context.new_cdp_session(choice)
    devtools.send("Performance.enable")
    devtools.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    start, width, middle = _grab(choice)
    before = _metrics(devtools)
    choice.evaluate("() => Object.keys(counted).forEach((name) => (counted[name] = 0))")
    pictures = []

    for n in range(1, MOVES + 1):
        choice.mouse.move(start + width * (0.5 + 0.4 * n / MOVES), middle)
        choice.evaluate(FRAME)
        value = float(choice.locator("#head-aim").input_value())
        pictures.append((value, choice.evaluate(STOPS)))
    after, counted = _metrics(devtools), choice.evaluate("counted")
    asked = list(requests)
    _kept_by(choice, choice.mouse.up)

    worked = {name: (after[name] - before[name]) / MOVES for name in COUNTED}
    print(f"a move: {worked}, {counted}")
    assert len({value for value, _stops in pictures}) == MOVES
    off = [_off(stops, _mixed(_places(choice), value)) for value, stops in pictures]
    assert max(off) <= 1
    assert counted["drawn"] == MOVES
    assert counted["forced"] == 0
    assert asked == []
    assert worked["LayoutCount"] <= 1.5  # the thumb, and a sentence that changes
    assert worked["RecalcStyleCount"] <= 8


def test_many_moves_within_a_frame_are_drawn_once(choice: Page) -> None:
    choice.evaluate(
        """() => {
          const slider = document.getElementById("head-aim");
          const [low, high] = [Number(slider.min), Number(slider.max)];
          for (let n = 0; n < 40; n += 1) {
            slider.value = String(low + ((high - low) * n) / 40);
            slider.dispatchEvent(new Event("input", { bubbles: true }));
          }
        }"""
    )
    choice.evaluate(FRAME)

    assert choice.evaluate("counted.drawn") == 1


def test_between_places_colours_are_mixed_and_settle_on_the_computed_one(choice: Page) -> None:
    places = _places(choice)
    warm, cool = max(
        itertools.pairwise(places), key=lambda pair: pair[0]["warmth"] - pair[1]["warmth"]
    )
    between = 0.7 * warm["warmth"] + 0.3 * cool["warmth"]
    assert warm["hex"] != cool["hex"]

    choice.locator("#head-aim").evaluate(
        """(slider, value) => {
          slider.value = String(value);
          slider.dispatchEvent(new Event("input", { bubbles: true }));
        }""",
        between,
    )
    choice.evaluate(FRAME)
    value = float(choice.locator("#head-aim").input_value())
    assert value == pytest.approx(between)
    assert _off(choice.evaluate(STOPS), _mixed(places, value)) <= 1

    _kept_by(choice, lambda: choice.locator("#head-aim").dispatch_event("change"))
    choice.evaluate(FRAME)

    settled = min(places, key=lambda place: abs(place["warmth"] - between))
    assert float(choice.locator("#head-aim").input_value()) == pytest.approx(settled["warmth"])
    exact = re.findall(
        r'stop-color="(#\w{6})"', portrait_svg(settled["hex"], key="x", title="")
    )
    assert [stop[2] for stop in choice.evaluate(STOPS)] == exact


def test_a_drag_that_ends_settles_on_a_computed_place(choice: Page) -> None:
    start, width, middle = _grab(choice)
    choice.mouse.move(start + width * 0.813, middle, steps=5)
    _kept_by(choice, choice.mouse.up)
    choice.evaluate(FRAME)

    value = float(choice.locator("#head-aim").input_value())
    assert any(value == pytest.approx(place["warmth"]) for place in _places(choice))
