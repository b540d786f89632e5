"""The tablet goes to the client and comes back: few taps, by keyboard alone, in their language.

Counted is each touch that hand-over, choice and signature cannot do without: hand over, move
the place, take it, draw (one stroke), tick, sign. The way back is counted apart: a PIN's six
digits, and before them a long press where the tablet is not enrolled.
"""

from typing import Any

import pytest
from django.conf import settings
from django.utils import timezone
from django.utils.translation import gettext
from playwright.sync_api import Locator, Page, ViewportSize, expect

from clients.models import Client
from consult.models import Choice, SignOff
from salon import languages
from salon.models import Staff, StaffPin
from salon.tablet import services as tablets
from tests import german
from tests.browser.conftest import PASSWORD, TABLET, box_of, unexpected, until
from tests.browser.test_keyboard import tab_to
from tests.factories.consult import Story
from tests.typed import Seat

UPRIGHT: ViewportSize = {"width": 820, "height": 1180}
PIN, MOST_TAPS = "604918", 6
SCROLLS = "document.documentElement.scrollHeight - innerHeight"


class Finger:
    """Touches, and counts."""

    def __init__(self, page: Page) -> None:
        self.page, self.taps = page, 0

    def tap(self, one: Locator) -> None:
        one.tap()
        self.taps += 1

    def drag(self, one: Locator, *, share: float) -> None:
        """Press at one place and let go at another: one touch."""
        box = box_of(one)
        middle = box["y"] + box["height"] / 2
        self.page.mouse.move(box["x"] + box["width"] / 2, middle)
        self.page.mouse.down()
        self.page.mouse.move(box["x"] + box["width"] * share, middle + 20, steps=8)
        self.page.mouse.up()
        self.taps += 1


@pytest.fixture
def at_choice(story: Story) -> Story:
    """A visit at its choice, whose stylist has a PIN."""
    story.answer().read()
    tablets.set_pin(by=Staff.objects.get(username="tomasz"), pin=PIN, at=timezone.now())
    return story


def _tablet(seat: Seat, shape: ViewportSize, *, is_enrolled: bool) -> Page:
    cookies = {}
    if is_enrolled:
        _device, token = tablets.enrol_device(
            name="Counter", by=Staff.objects.get(username="brigid"), at=timezone.now()
        )
        cookies[settings.DEVICE_COOKIE_NAME] = token
    page = seat("tomasz", PASSWORD, viewport=shape, touch=True, cookies=cookies)
    page.wait_for_load_state()
    return page


@pytest.mark.parametrize("is_enrolled", [True, False], ids=["enrolled", "any tablet"])
@pytest.mark.parametrize("shape", [TABLET, UPRIGHT], ids=["lying", "upright"])
def test_from_the_stylists_screen_to_the_signature_and_back(
    at_choice: Story, seat: Seat, shape: ViewportSize, is_enrolled: bool
) -> None:
    page = _tablet(seat, shape, is_enrolled=is_enrolled)
    page.goto(f"/visits/{at_choice.visit.pk}/choice/")
    finger = Finger(page)

    finger.tap(page.get_by_role("button", name="Hand over the tablet"))
    page.wait_for_url("**/client/choice/")
    page.wait_for_load_state("networkidle")
    assert page.evaluate(SCROLLS) == 0
    finger.drag(page.locator("#head-aim"), share=0.7)
    finger.tap(page.get_by_role("button", name="This is how I want it"))
    page.wait_for_url("**/client/sign/")
    page.wait_for_load_state("load")
    assert page.evaluate(SCROLLS) == 0
    finger.drag(page.locator(".signature__pad"), share=0.8)
    finger.tap(page.get_by_text("I have read this").first)
    finger.tap(page.get_by_role("button", name="Sign", exact=True))
    page.wait_for_url("**/client/done/")
    page.wait_for_load_state("load")

    assert finger.taps <= MOST_TAPS
    signed = SignOff.objects.get()
    assert signed.choice == Choice.objects.latest("pk")
    if not is_enrolled:
        _hold(page)
    until(page, f"({SCROLLS}) === 0")  # the pad fits
    for digit in PIN:
        page.locator(f".pin__key[data-digit='{digit}']").tap()
    page.wait_for_url("**/formula/")
    expect(page.get_by_text("The tablet is yours again.").first).to_be_visible()
    print(f"taps: {finger.taps}, then {'' if is_enrolled else 'a long press and '}a PIN")
    assert unexpected(page) == []


def _hold(page: Page) -> None:
    """Press, and let go once it has opened."""
    expect(page.locator(".pin__pad")).to_be_hidden()
    hold = page.get_by_text("Stylist: hold here")
    box = box_of(hold)
    page.mouse.move(box["x"] + 20, box["y"] + box["height"] / 2)
    page.mouse.down()
    expect(page.locator(".pin__pad")).to_be_visible()
    page.mouse.up()
    expect(page.locator(".pin__pad")).to_be_visible()


def test_a_stray_tap_reaches_no_pin_and_says_what_to_do(at_choice: Story, seat: Seat) -> None:
    """A child that taps about uses up no try of the PIN; who cannot hold taps twice."""
    page = _tablet(seat, TABLET, is_enrolled=False)
    page.goto(f"/visits/{at_choice.visit.pk}/choice/")
    page.get_by_role("button", name="Hand over the tablet").tap()
    page.wait_for_url("**/client/choice/")
    page.get_by_role("link", name="Back to the stylist").tap()
    page.wait_for_url("**/client/done/")
    page.wait_for_load_state("load")
    hold, pad = page.get_by_text("Stylist: hold here"), page.locator(".pin__pad")

    hold.tap()
    expect(page.get_by_text("Hold it for a second, or press it again.")).to_be_visible()
    expect(pad).to_be_hidden()
    hold.tap()
    expect(pad).to_be_visible()
    for digit in "941873":
        page.locator(f".pin__key[data-digit='{digit}']").tap()
    expect(page.get_by_text("This PIN was not accepted")).to_be_visible()
    expect(pad).to_be_visible()
    assert StaffPin.objects.get().wrong_tries == 1


def _tree(page: Page) -> list[dict[str, Any]]:
    """Return what Chromium tells a screen reader: role, name and states of each node."""
    devtools = page.context.new_cdp_session(page)
    devtools.send("Accessibility.enable")
    nodes = devtools.send("Accessibility.getFullAXTree")["nodes"]
    return [
        {name: one.get(name, {}).get("value", "") for name in ("role", "name")}
        | {more["name"]: more["value"].get("value") for more in one.get("properties", [])}
        for one in nodes
        if not one.get("ignored")
    ]


def _told(page: Page, role: str, name: str) -> dict[str, Any]:
    found = [one for one in _tree(page) if (one["role"], one["name"]) == (role, name)]
    assert len(found) == 1, f"{role} {name!r}: {[n for n in _tree(page) if n['role'] == role]}"
    return found[0]


@pytest.mark.parametrize("language", ["en-gb", "de"])
def test_a_client_chooses_and_signs_by_keyboard_and_screen_reader(
    at_choice: Story, seat: Seat, language: str
) -> None:
    """No pointer at all, and every name and value that is read out in the client's language."""
    Client.objects.update(language=language)
    page = _tablet(seat, TABLET, is_enrolled=False)
    page.goto(f"/visits/{at_choice.visit.pk}/choice/")
    tab_to(page, "button", "Hand over the tablet")
    page.keyboard.press("Enter")
    page.wait_for_url("**/client/choice/")
    with languages.speaking(language):
        slider = gettext("From lighter with some gold to cooler and deeper")
        take, sign = gettext("This is how I want it"), gettext("Sign")
        typed, hold = gettext("typed name"), gettext("Stylist: hold here to take it back")
        title = gettext("How would you like your colour?")
    page.wait_for_load_state("networkidle")
    expect(page.locator("html")).to_have_attribute("lang", language)
    _is_in(language, page)
    assert _told(page, "heading", title)
    pictures = {one["name"] for one in _tree(page) if one["role"] == "image"}
    assert len([name for name in pictures if name]) >= 2  # now, and with this toner

    tab_to(page, "slider", slider)
    assert _told(page, "slider", slider)["focused"]
    aim = page.get_by_role("slider", name=slider)
    before = aim.get_attribute("aria-valuetext")
    page.keyboard.press("End")
    until(page, f"document.activeElement.getAttribute('aria-valuetext') !== {before!r}")
    chosen = aim.get_attribute("aria-valuetext") or ""
    shown = page.locator("[data-head-sentence]").all_inner_texts()
    assert chosen == " ".join(shown)  # what is read out is what is shown: sentences, no number
    assert chosen != before
    tab_to(page, "button", take)
    page.keyboard.press("Enter")
    page.wait_for_url("**/client/sign/")

    page.wait_for_load_state("load")
    _is_in(language, page)
    _sign_by_keys(page, typed, sign)

    assert SignOff.objects.get().method == "typed"
    page.wait_for_load_state("load")
    tab_to(page, "summary", hold)
    page.keyboard.press("Enter")
    tab_to(page, "field", "PIN")
    page.keyboard.type(PIN)
    page.wait_for_url("**/formula/")
    expect(page.locator("html")).to_have_attribute("lang", "en-gb")  # the stylist's own again
    assert unexpected(page) == []


def _sign_by_keys(page: Page, typed: str, sign: str) -> None:
    """Choose the typed name, tick, sign: a pad that only a pointer can use is not needed."""
    tab_to(page, "radio", ".")
    while not page.get_by_label(typed, exact=True).is_checked():
        page.keyboard.press("ArrowRight")
    tab_to(page, "checkbox", ".", key="Tab" if _is_after(page) else "Shift+Tab")
    page.keyboard.press("Space")
    tab_to(page, "button", f"^{sign}$")
    page.keyboard.press("Enter")
    page.wait_for_url("**/client/done/")


def _is_after(page: Page) -> bool:
    """Return whether the tick stands after what has the focus."""
    return bool(
        page.evaluate(
            """() => {
              const tick = document.querySelector("[name=has_understood]");
              const place = document.activeElement.compareDocumentPosition(tick);
              return Boolean(place & Node.DOCUMENT_POSITION_FOLLOWING);
            }"""
        )
    )


def _is_in(language: str, page: Page) -> None:
    """In another language nothing of the first is left over."""
    if language == "de":
        assert german.leftovers(page.content()) == []
