"""The page of all components in Chromium: pressed, dragged, read out, measured.

Outside checks: axe-core's rules (WCAG 2.2 A and AA); the mean of drawn hair against the
colour asked for by CIEDE2000, from the pixels that Chromium painted.
"""

import io
import re
from collections.abc import Callable, Iterator
from typing import Literal

import numpy as np
import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.test import Client
from PIL import Image
from playwright.sync_api import Browser, Page, ViewportSize, expect
from pytest_django.live_server_helper import LiveServer

from consult.drawing.portrait import portrait_svg, strokes_svg
from formulas.engine.light.colorimetry import delta_e_2000
from salon.drawing.colour import hex_to_lab, lab_to_hex, linear_to_lab
from salon.drawing.strand import strand_svg
from salon.models import Role
from tests.browser.conftest import DESK, TABLET, box_of, faults_of, next_frame, note_faults
from tests.factories.salon import StaffFactory

UPRIGHT: ViewportSize = {"width": 820, "height": 1180}


Scheme = Literal["dark", "light"]


@pytest.fixture
def gallery(
    transactional_db: None, browser: Browser, live_server: LiveServer
) -> Iterator[Callable[..., Page]]:
    """Return a function that opens the page as the owner."""
    signed_in = Client()
    signed_in.force_login(
        StaffFactory(role=Role.OWNER), backend="django.contrib.auth.backends.ModelBackend"
    )
    name = settings.SESSION_COOKIE_NAME
    contexts = []

    def open_page(*, viewport: ViewportSize = TABLET, theme: Scheme = "light") -> Page:
        context = browser.new_context(
            base_url=live_server.url, viewport=viewport, color_scheme=theme, locale="en-GB"
        )
        contexts.append(context)
        context.add_cookies(
            [{"name": name, "value": signed_in.cookies[name].value, "url": live_server.url}]
        )
        page = context.new_page()
        note_faults(page)
        page.goto("/components/")
        return page

    yield open_page
    for context in contexts:
        context.close()


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("viewport", [TABLET, UPRIGHT, DESK], ids=["lying", "upright", "desk"])
def test_axe_finds_nothing(
    gallery: Callable[..., Page], viewport: ViewportSize, theme: Scheme
) -> None:
    page = gallery(viewport=viewport, theme=theme)

    found = Axe().run(page).response["violations"]

    assert [(v["id"], v["nodes"][0]["html"]) for v in found] == []
    assert faults_of(page) == []


@pytest.mark.parametrize("width", [1024, 820, 512, 360])
def test_nothing_runs_out_of_the_page(gallery: Callable[..., Page], width: int) -> None:
    """512 is a tablet at 200 % zoom."""
    page = gallery(viewport={"width": width, "height": 700})

    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0


def test_everything_to_press_is_large_enough(gallery: Callable[..., Page]) -> None:
    page = gallery()

    small = page.evaluate(
        """() => [...document.querySelectorAll(
               'button, summary, select, input:not([type=hidden]), a.button, .nav a, .tick')]
             .filter(e => e.checkVisibility() && !e.closest('dialog'))
             .filter(e => !e.matches('[type=checkbox], [type=radio]'))
             .map(e => [e.outerHTML.slice(0, 80), e.getBoundingClientRect()])
             .filter(([, box]) => box.height < 43.5 || box.width < 43.5)
             .map(([html, box]) => `${html} ${box.width}x${box.height}`)"""
    )

    assert small == []


def test_the_place_is_dragged_in_the_plot(gallery: Callable[..., Page]) -> None:
    page = gallery()
    mark = box_of(page.locator("[data-curve] [data-mark]"))
    before = page.locator("[data-sentence]").inner_text()
    slider = page.locator("[data-curve] input[type=range]")

    page.mouse.move(mark["x"] + mark["width"] / 2, mark["y"] + mark["height"] / 2)
    page.mouse.down()
    page.mouse.move(mark["x"] + 160, mark["y"] + 40, steps=6)
    page.mouse.up()

    expect(page.locator("[data-sentence]")).not_to_have_text(before)
    assert int(slider.input_value()) < 45
    expect(slider).to_be_focused()


def test_arrow_keys_move_the_place_and_are_read_out(gallery: Callable[..., Page]) -> None:
    page = gallery()
    slider = page.locator("[data-curve] input[type=range]")
    start = int(slider.input_value())

    slider.focus()
    page.keyboard.press("ArrowRight")  # to the right is cooler, as in the plot
    expect(slider).to_have_value(str(start - 1))
    page.keyboard.press("ArrowUp")
    page.keyboard.press("PageUp")

    next_frame(page)
    assert int(slider.input_value()) > start
    sentence = page.locator("[data-sentence]").inner_text()
    expect(slider).to_have_attribute("aria-valuetext", sentence)


def test_the_slider_stops_where_stock_ends(gallery: Callable[..., Page]) -> None:
    page = gallery()
    slider = page.locator("[data-curve] input[type=range]")

    slider.focus()
    page.keyboard.press("Home")
    expect(slider).to_have_value("-4")
    page.keyboard.press("End")
    expect(slider).to_have_value("94")


def test_script_and_server_colour_a_strand_alike(gallery: Callable[..., Page]) -> None:
    page = gallery()

    page.get_by_role("button", name="Cool", exact=True).click()

    drawn = page.locator("[data-dry] svg")
    colour = drawn.get_attribute("data-strand")
    strokes = drawn.locator("[data-shift]").evaluate_all(
        "hairs => hairs.map(h => h.getAttribute('stroke'))"
    )
    expected = strand_svg(colour, size="l")
    assert len(strokes) > 5
    assert all(f'stroke="{stroke}"' in expected for stroke in strokes)
    expect(page.get_by_role("button", name="Cool", exact=True)).to_have_attribute(
        "aria-pressed", "true"
    )


def test_the_mean_of_drawn_hair_is_its_colour(gallery: Callable[..., Page]) -> None:
    """Within CIEDE2000 1, about what an eye just sees; the light of all pixels is added up."""
    page = gallery()
    wrong = []
    for name, colour in HAIR.items():
        locks = {
            f"a lock {size}{' damp' if damp else ''}": strand_svg(colour, damp=damp, size=size)
            for size in ("s", "l")
            for damp in (False, True)
        }
        head = portrait_svg({"roots": colour}, key="x", title="")
        shoulders, clip = 'fill="#5e5e5e"', "<rect"
        drawings = {
            kind: svg.replace(clip, f'{clip} visibility="hidden"')
            for kind, svg in locks.items()
        }
        drawings["a head"] = strokes_svg() + head.replace(shoulders, 'visibility="hidden"')
        for kind, svg in drawings.items():
            off = float(delta_e_2000(_mean_drawn(page, svg), hex_to_lab(colour)))
            if off > 1.0:
                wrong.append(f"{kind} of {name}: {off:.2f}")
    assert not wrong, wrong


# Hair as lifted and as toned, from nearly black to white (L*, a*, b*).
HAIR = {
    name: lab_to_hex(lab)
    for name, lab in {
        "level 10 pale": (71.5, 3.4, 27.8), "9 yellow": (62.5, 6.1, 31.4),
        "7.5 orange": (50.2, 17.6, 29.5), "half white": (62.0, 5.0, 18.0),
        "natural 5": (34.0, 6.6, 11.6), "natural 2": (21.0, 2.8, 2.8),
        "white": (82.0, -0.3, 9.0),
    }.items()
}  # fmt: skip


def _mean_drawn(page: Page, svg: str) -> tuple[float, float, float]:
    """Return L*, a*, b* of the mean light of a drawing's pixels, its edge left out."""
    page.set_content(f'<div id="hair">{svg}</div>')
    drawn = page.locator("#hair svg[viewBox]")
    drawn.evaluate(
        "svg => { svg.setAttribute('width', 480); svg.setAttribute('height', 640); }"
    )
    shot = drawn.screenshot(omit_background=True)
    pixels = np.asarray(Image.open(io.BytesIO(shot)).convert("RGBA"), dtype=float) / 255
    hair = pixels[pixels[..., 3] == 1.0][:, :3]
    light = np.where(hair <= 0.04045, hair / 12.92, ((hair + 0.055) / 1.055) ** 2.4)
    return linear_to_lab(tuple(light.mean(axis=0)))


def test_the_stepper_counts_within_its_limits(gallery: Callable[..., Page]) -> None:
    page = gallery()
    stepper = page.locator(".stepper", has=page.locator("[name=level]")).first
    field = stepper.locator("input")

    stepper.get_by_role("button", name="More").click()
    expect(field).to_have_value("8")
    for _ in range(6):
        more = stepper.get_by_role("button", name="More")
        if more.is_enabled():
            more.click()

    expect(field).to_have_value("10")
    expect(stepper.get_by_role("button", name="More")).to_be_disabled()
    field.press("ArrowDown")
    expect(field).to_have_value("9.5")


def test_a_signature_is_drawn_kept_and_cleared(gallery: Callable[..., Page]) -> None:
    page = gallery()
    pad = page.locator("[data-signature] canvas")
    pad.scroll_into_view_if_needed()
    box = box_of(pad)

    page.mouse.move(box["x"] + 40, box["y"] + 60)
    page.mouse.down()
    page.mouse.move(box["x"] + 160, box["y"] + 110, steps=8)
    page.mouse.up()

    expect(page.locator("[data-strokes]")).to_have_value(re.compile(r'^\[{"'))
    expect(page.locator("[data-picture]")).to_have_value(re.compile("^data:image/png;base64,"))
    page.get_by_role("button", name="Erase").click()
    expect(page.locator("[data-strokes]")).to_have_value("")
    expect(page.locator("[data-picture]")).to_have_value("")


def test_timers_tell_their_state_in_words(gallery: Callable[..., Page]) -> None:
    page = gallery()

    running, over, ended = page.locator("[data-timer]").all()

    expect(running.get_by_text("Running")).to_be_visible()
    expect(over.get_by_text("Time is up")).to_be_visible()
    assert over.locator("[data-left]").inner_text().startswith("+2:")
    expect(ended.locator("[data-gone]")).to_have_text("5:20")


def test_the_theme_is_chosen_and_survives_a_reload(gallery: Callable[..., Page]) -> None:
    page = gallery()

    page.locator(".menu > summary").click()
    page.get_by_label("Dark").check(force=True)
    page.reload()

    expect(page.locator("html")).to_have_attribute("data-theme", "dark")
    expect(page.locator("body")).to_have_css("background-color", "rgb(24, 24, 24)")


def test_a_dialog_takes_focus_and_gives_it_back(gallery: Callable[..., Page]) -> None:
    page = gallery()
    opener = page.get_by_role("button", name="Open a dialog")

    opener.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("dialog")).to_be_visible()
    page.keyboard.press("Escape")

    expect(opener).to_be_focused()


def test_the_booth_is_the_same_grey_in_both_themes(gallery: Callable[..., Page]) -> None:
    page = gallery()
    grey = "getComputedStyle(document.querySelector('.booth')).backgroundColor"

    light = page.evaluate(grey)
    page.emulate_media(color_scheme="dark")
    expect(page.locator("body")).to_have_css("background-color", "rgb(24, 24, 24)")

    assert page.evaluate(grey) == light == "rgb(150, 150, 150)"
