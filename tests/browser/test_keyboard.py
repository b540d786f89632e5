"""The main job with the keyboard alone: no pointer, no scripted focus, only keys."""

import datetime as dt
import re
from decimal import Decimal

import pytest
import time_machine
from django.utils import timezone
from playwright.sync_api import Page, expect
from playwright.sync_api import TimeoutError as PlaywrightTimeout

from clients import services
from clients.models import Appointment, Chair, ReadingOutcome, Service, Status
from clients.skin_test.safety import QUESTIONS
from consult.demo import cast
from formulas import services as formulary
from salon import services as house
from salon.models import Role
from tests.browser.conftest import DESK, PASSWORD, next_frame, unexpected, until
from tests.typed import Seat

NAME = "Ngozi Adichie-Okonkwo"

# What has the focus: its role and its name, whether it is visible, and whether a sign of the
# focus is drawn on it or on the label that stands for it (a radio button drawn as a tile).
FOCUSED = """() => {
  const one = document.activeElement;
  if (!one || one === document.body) return null;
  const kinds = { A: "link", BUTTON: "button", SELECT: "select", SUMMARY: "summary" };
  const types = { checkbox: "checkbox", radio: "radio", range: "slider", submit: "button" };
  const role = one.getAttribute("role") || kinds[one.tagName] || types[one.type] || "field";
  const words = (id) => document.getElementById(id)?.textContent || "";
  const labels = [...(one.labels || [])];
  const name = one.getAttribute("aria-label")
    || (one.getAttribute("aria-labelledby") || "").split(" ").map(words).join(" ").trim()
    || labels.map((label) => label.textContent).join(" ") || one.textContent || "";
  const ringed = (style) => style.outlineStyle !== "none" && parseFloat(style.outlineWidth) > 0;
  const drawn = (element) => ringed(getComputedStyle(element))
    || ringed(getComputedStyle(element, "::after"));
  const parts = [one, one.parentElement, one.nextElementSibling, ...labels,
    ...labels.flatMap((label) => [...label.children])].filter(Boolean);
  return {
    role, name: name.replace(/\\s+/g, " ").trim(), id: one.id, field: one.name || "",
    shown: getComputedStyle(one).boxShadow !== "none" || parts.some(drawn),
  };
}"""


def _focused(page: Page) -> dict[str, str]:
    """Return what has the focus: once a swap has settled it is not lost, and it shows."""
    try:
        one: dict[str, str] = until(page, FOCUSED, seconds=2)
    except PlaywrightTimeout:
        pytest.fail(f"the focus is lost on {page.url}: the body has it")
    assert one["shown"], f"no focus sign on {one}"
    return one


def tab_to(page: Page, role: str, name: str, *, key: str = "Tab", most: int = 80) -> None:
    """Press Tab until an element of this role and name has the focus."""
    page.wait_for_load_state("load")
    passed = []
    for _ in range(most):
        page.keyboard.press(key)
        one = page.evaluate(FOCUSED)
        if one is None:  # between the last element and the first: the browser's own frame
            passed.append("-")
            continue
        assert one["shown"], f"no focus sign on {one}"
        if re.fullmatch(role, one["role"]) and re.search(name, one["name"]):
            return
        passed.append(f"{one['role']} {one['name'][:40]!r}")
    pytest.fail(f"{role} {name!r} was not reached; passed: " + "; ".join(passed))


def _press(page: Page, role: str, name: str, *, key: str = "Enter", back: bool = False) -> None:
    tab_to(page, role, name, key="Shift+Tab" if back else "Tab")
    page.keyboard.press(key)


def _retype(page: Page, text: str) -> None:
    page.keyboard.press("Control+a")
    page.keyboard.type(text)


@pytest.fixture
def booked(transactional_db: None, clock: time_machine.Traveller) -> Appointment:
    """A regular with a clear test, booked for ten past ten; the line is in stock."""
    at = timezone.now() - dt.timedelta(days=60)
    salon, owner = house.found_salon(
        at=at, owner_username="owner", owner_name="Brigid", password=PASSWORD, **cast.SALON
    )
    people = {
        username: house.add_member(
            by=owner, at=at, password=PASSWORD, username=username,
            display_name=username.title(), role=role, has_column=role == Role.STYLIST,
        )
        for username, role in (("imke", Role.RECEPTIONIST), ("tomasz", Role.STYLIST))
    }  # fmt: skip
    line = formulary.load_demo_line(name="Tidepool", by=owner, at=at)
    for shade in line.shades.all():
        formulary.receive_stock(shade=shade, grams=Decimal(240), by=owner, at=at)
    tone = Service.objects.create(
        salon=salon, name="Tone", application_minutes=30, processing_minutes=20,
        finish_minutes=25, is_colour=True,
    )  # fmt: skip
    Chair.objects.create(salon=salon, name="Window")
    now = timezone.now()
    client = services.register_client(
        by=people["imke"], at=at, name=NAME, birth_date=dt.date(1988, 4, 12)
    )
    placed = now - dt.timedelta(days=20)
    test = services.place_patch_test(
        client=client, line=line, site="behind_left_ear", batch="B-2291",
        applied_at=placed, by=people["imke"], at=placed,
    )  # fmt: skip
    services.record_patch_test_reading(
        test=test, outcome=ReadingOutcome.NO_REACTION, by=people["imke"],
        at=placed + dt.timedelta(hours=49),
    )  # fmt: skip
    return services.book_appointment(
        client=client, service=tone, line=line, stylist=people["tomasz"],
        starts_at=now + dt.timedelta(minutes=10), by=people["imke"], at=now,
    )  # fmt: skip


def _find_and_check_in(desk: Page) -> None:
    desk.wait_for_load_state("load")
    desk.keyboard.press("F2")
    expect(desk.locator("#find-anywhere-box")).to_be_focused()
    desk.keyboard.type("ngo")
    expect(desk.locator("#anywhere-found li")).to_have_count(1)
    _focused(desk)
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", level=1)).to_have_text(NAME)
    _press(desk, "link", "^Day|^Diary|^Today")
    expect(desk.locator("#day")).to_be_visible()
    tab_to(desk, "link", NAME)  # one stop a column; the arrow keys walk within it
    desk.keyboard.press("ArrowDown")
    assert _focused(desk)["name"] == f"Check in {NAME}"
    desk.keyboard.press("Enter")
    expect(desk.locator("#day-notice")).to_contain_text("is checked in")
    _focused(desk)


def _begin_and_ask(page: Page) -> None:
    expect(page).to_have_url(re.compile("/today/$"))
    _press(page, "button", "Begin")
    expect(page).to_have_url(re.compile("/visits/"))
    _press(page, "link", "Ask the safety questions")
    expect(page).to_have_url(re.compile("/safety/$"))
    page.wait_for_load_state("load")  # counted earlier, the last questions may be missing
    expect(page.locator(".ask")).to_have_count(1 + len(QUESTIONS))
    tab_to(page, "checkbox", "I agree that the salon keeps")
    page.keyboard.press("Space")
    for _ in QUESTIONS:
        tab_to(page, "radio", "")
        page.keyboard.press("ArrowRight")  # yes, and back again: no
        page.keyboard.press("ArrowLeft")
        assert _focused(page)["name"] == "No"
        expect(page.locator(":focus")).to_be_checked()
    _press(page, "button", "Save the answers")
    expect(page).to_have_url(re.compile("/hair/$"))


def _read_the_hair(page: Page) -> None:
    roots = page.locator("[data-zone=roots]")
    for label, read in (("Natural level", "5.5"), ("Lifted level", "7.5")):
        tab_to(page, "(spinbutton|field)", label)
        page.keyboard.press("ArrowUp")  # empty at first: it starts in the middle
        page.keyboard.press("ArrowDown")
        expect(roots.get_by_label(label)).to_have_value(read)
    tab_to(page, "radio", "much more orange")
    page.keyboard.press("Space")
    tab_to(page, "(spinbutton|field)", "White hair")
    page.keyboard.press("ArrowUp")
    tab_to(page, "radio", "low")
    page.keyboard.press("Space")
    for zone in ("mid_lengths", "ends"):
        tab_to(page, "checkbox", "(?i)same")
        same = page.locator(f"[data-zone={zone}] .zone__same input")
        expect(same).to_be_focused()
        page.keyboard.press("Space")
        if not same.is_checked():  # it stood as the same already
            page.keyboard.press("Space")
        expect(same).to_be_checked()
        _focused(page)
    for first in ("short", "thin"):
        tab_to(page, "radio", first)
        page.keyboard.press("Space")
    _press(page, "button", "Save the reading")
    expect(page).to_have_url(re.compile("/choice/$"))


def _choose(page: Page) -> None:
    tab_to(page, "slider", "")
    slider = page.get_by_role("slider").first
    said = []
    for key in ("End", "Home"):
        page.keyboard.press(key)
        next_frame(page)  # what is read out changes in it
        said.append(slider.get_attribute("aria-valuetext"))
    assert said[0] != said[1]
    _press(page, "button", "Use this")
    expect(page).to_have_url(re.compile("/sign/$"))


def _sign(page: Page) -> None:
    tab_to(page, "field", "Name of the person who signs")
    _retype(page, NAME)
    tab_to(page, "radio", "")
    for _ in range(3):
        if re.search("(?i)typed", _focused(page)["name"]):
            break
        page.keyboard.press("ArrowRight")
    assert re.search("(?i)typed", _focused(page)["name"])
    tab_to(page, "checkbox", "I have read this")
    page.keyboard.press("Space")
    _press(page, "button", "^Sign$")
    expect(page).to_have_url(re.compile("/formula/$"))


def _mix(page: Page) -> None:
    _press(page, "button", "Use this one")
    expect(page).to_have_url(re.compile("/bench/$"))
    page.wait_for_load_state("load")
    ticks = page.locator(".weigh input[name^=in_bowl-]")
    for at in range(ticks.count()):
        tab_to(page, "checkbox", "")
        with page.expect_response(re.compile("/rescale/")):
            page.keyboard.press("Space")
        expect(page.locator(".htmx-request, .htmx-settling")).to_have_count(0)
        expect(ticks.nth(at)).to_be_focused()
        _focused(page)
    _press(page, "button", "Bowl mixed")
    expect(page.get_by_role("button", name="On the hair: start the clock")).to_be_visible()


def _time(page: Page, clock: time_machine.Traveller) -> None:
    _press(page, "button", "On the hair: start the clock")
    expect(page.locator("[data-timer]")).to_be_visible()
    clock.shift(dt.timedelta(minutes=20))
    page.reload()
    _press(page, "button", "Rinsed")
    expect(page).to_have_url(re.compile("/result/$"))


def _see_and_close(page: Page) -> None:
    for _question in ("lighter or deeper", "warmer or cooler"):
        tab_to(page, "radio", "(1 level lighter|much warmer)")
        page.keyboard.press("Space")
    tab_to(page, "field", "^Note")
    page.keyboard.type("Even from root to tip.")
    _press(page, "button", "Save result")
    expect(page).to_have_url(re.compile("/card/$"))
    _press(page, "button", "Close the visit")
    expect(
        page.get_by_role("link", name=re.compile("Visit card for the client"))
    ).to_be_visible()


def test_the_main_job_is_done_with_the_keyboard_alone(
    booked: Appointment, seat: Seat, clock: time_machine.Traveller
) -> None:
    desk = seat("imke", PASSWORD, viewport=DESK)
    _find_and_check_in(desk)
    booked.refresh_from_db()
    assert booked.status == Status.CHECKED_IN

    page = seat("tomasz", PASSWORD, viewport=DESK)
    _begin_and_ask(page)
    _read_the_hair(page)
    _choose(page)
    _sign(page)
    _mix(page)
    _time(page, clock)
    _see_and_close(page)

    booked.refresh_from_db()
    assert booked.status == Status.DONE
    assert unexpected(desk) == []
    assert unexpected(page) == []
