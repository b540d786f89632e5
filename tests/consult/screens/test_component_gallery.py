"""The page of all components, the form templates and the widgets behind it."""

import datetime as dt
import re
from pathlib import Path

import pytest
from django.conf import settings
from django.template import Context, Template
from django.utils import translation

from consult.screens.component_gallery import SampleForm
from salon.drawing.colour import lightness
from salon.models import Staff
from salon.templatetags.components import diary_place
from tests.typed import SignIn

STATIC = Path(settings.BASE_DIR) / "static"
At = dt.datetime


def test_the_page_shows_every_component(owner: Staff, client_for: SignIn) -> None:
    page = client_for(owner).get("/components/").content.decode()

    for part in (
        "button--stop", "alert--caution", "badge--stop", 'class="table"', "dialog", "toast",
        "empty", "skeleton", "stepper", "segments", "radio-cards", "steps", "timer",
        "signature", "diary__block", "strand--l", 'class="head"', "curve__plot",
        "timeline", "action-bar",
    ):  # fmt: skip
        assert part in page, part


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_page_names_its_language_and_direction(
    owner: Staff, client_for: SignIn, language: str
) -> None:
    page = client_for(owner).get("/components/", headers={"accept-language": language})

    assert re.search(rf'<html lang="{language}[^"]*" dir="ltr">', page.content.decode())


def test_htmx_is_kept_from_evaluating_anything(owner: Staff, client_for: SignIn) -> None:
    page = client_for(owner).get("/components/").content.decode()

    for setting in ('"allowEval":false', '"allowScriptTags":false', '"selfRequestsOnly":true'):
        assert setting in page


def test_a_wrong_field_points_to_its_hint_and_its_mistake() -> None:
    form = SampleForm({"level": "11"})

    drawn = form["level"].as_field_group()

    assert 'aria-describedby="id_level_helptext id_level_error"' in drawn
    assert 'aria-invalid="true"' in drawn
    assert 'id="id_level_helptext"' in drawn
    assert 'id="id_level_error"' in drawn
    assert "field--invalid" in drawn


def test_a_group_of_choices_is_a_fieldset_with_a_legend() -> None:
    drawn = SampleForm()["porosity"].as_field_group()

    assert drawn.startswith("<fieldset")
    assert '<legend class="field__label">Porosity' in drawn
    assert drawn.count('type="radio"') == 3


def test_what_may_stay_empty_says_so() -> None:
    form = SampleForm()

    assert "optional" in form["note"].as_field_group()
    assert "optional" not in form["name"].as_field_group()


def test_a_checkbox_stands_before_its_label() -> None:
    drawn = SampleForm()["agreed"].as_field_group()

    assert drawn.index('type="checkbox"') < drawn.index("The client has seen")


def test_the_stepper_carries_limits_step_and_unit() -> None:
    form = SampleForm()

    level, bowl = str(form["level"]), str(form["grams"])

    for part in ('min="1"', 'max="10"', 'step="0.5"', 'aria-label="Less"', 'aria-label="More"'):
        assert part in level
    assert '<span class="stepper__unit">g</span>' in bowl


def test_radio_cards_carry_their_sentences() -> None:
    assert "Redder than the level usually shows." in str(SampleForm()["undertone"])


def test_dates_and_times_stay_machine_readable_in_german() -> None:
    form = SampleForm(initial={"day": dt.date(2026, 5, 4), "time": dt.time(9, 5)})

    with translation.override("de"):
        assert 'value="2026-05-04"' in str(form["day"])
        assert 'value="09:05"' in str(form["time"])


def test_a_refused_form_says_so_first_and_can_be_focused() -> None:
    form = SampleForm({})
    form.full_clean()
    form.add_error(None, "Not yet.")

    assert '<div class="refusal" role="alert" tabindex="-1">' in str(form.non_field_errors())


def test_typed_text_is_escaped_in_every_component() -> None:
    bad = "<script>alert(1)</script>"
    source = (
        "{% load components %}"
        '{% alert "stop" title=bad action=bad href=bad %}{{ bad }}{% endalert %}'
        '{% include "components/badge.html" with kind="good" label=bad %}'
        '{% include "components/empty.html" with title=bad body=bad %}'
    )

    assert "<script>" not in Template(source).render(Context({"bad": bad}))


def alert(source: str, **context: object) -> str:
    """Return an alert's HTML without the space between its elements."""
    drawn = Template("{% load i18n components %}" + source).render(Context(context))
    without_mark = re.sub(r"<svg.*?</svg>", "", drawn, flags=re.DOTALL)
    return re.sub(r">\s+<", "><", without_mark).strip()


def test_an_alert_says_its_kind_title_words_and_way_on() -> None:
    drawn = alert(
        """{% alert "stop" title=_("Not yet") href="/a/" action=way_on live=True %}
          {% translate "The product's own words" %}

          {{ name }} comes back.
        {% endalert %}""",
        name="Ida & Ola",
        way_on="Go & see",
    )

    assert drawn == (
        '<div class="alert alert--stop" role="alert"><div class="alert__text">'
        '<p class="alert__kind">Stop</p><p class="alert__title">Not yet</p>'
        '<div class="alert__body"><p>The product\'s own words</p>'
        "<p>          Ida &amp; Ola comes back.</p></div>"
        '<p><a class="link-alone" href="/a/">Go &amp; see</a></p></div></div>'
    )


def test_an_alert_takes_nothing_from_the_page_around_it() -> None:
    around = {"title": "Page", "body": "Text", "href": "/b/", "action": "Press", "live": True}

    assert alert('{% alert "info" title="Closed" %} {% endalert %}', **around) == (
        '<div class="alert alert--info"><div class="alert__text">'
        '<p class="alert__kind">Note</p><p class="alert__title">Closed</p></div></div>'
    )


@pytest.mark.parametrize(
    ("starts", "ends", "classes"),
    [
        (At(2026, 5, 4, 9, 0), At(2026, 5, 4, 10, 0), "r-1 e-1 f-0"),
        (At(2026, 5, 4, 9, 35), At(2026, 5, 4, 9, 50), "r-8 d-3"),
        (At(2026, 5, 4, 8, 30), At(2026, 5, 4, 9, 30), "r-1 d-6"),  # begins before opening
        (At(2026, 5, 4, 9, 0), At(2026, 5, 4, 9, 1), "r-1 d-1"),
        (At(2026, 5, 4, 10, 55), At(2026, 5, 4, 12, 10), "h-1 r-12 e-1 f-3"),
        (At(2026, 5, 5, 4, 0), At(2026, 5, 5, 5, 5), "h-19 r-1 e-1 f-1"),  # past 18 hours
        (At(2026, 5, 4, 9, 0), At(2026, 5, 5, 9, 0), "r-1 e-24 f-0"),
    ],
)
def test_a_block_is_placed_by_rows_of_five_minutes(starts: At, ends: At, classes: str) -> None:
    assert diary_place(starts, ends, At(2026, 5, 4, 9, 0)) == classes


def test_every_class_that_places_a_block_is_in_the_style_file() -> None:
    """A day is 25 hours at most, and its last service 16."""
    css = (STATIC / "css" / "diary.css").read_text()
    opens = At(2026, 5, 4, 0, 0)
    five = dt.timedelta(minutes=5)
    named = {
        name
        for rows in range(1, 41 * 12)
        for name in diary_place(opens + rows * five, opens + 2 * rows * five, opens).split()
    }

    assert {name for name in named if not re.search(rf"\.{name}[ ,]", css)} == set()


def test_greys_are_achromatic_and_have_the_lightness_that_they_are_named_by() -> None:
    css = (STATIC / "css" / "tokens.css").read_text()
    greys = re.findall(r"--g-(\d+): (#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2}));", css)

    assert len(greys) >= 15
    for name, colour, red, green, blue in greys:
        assert red == green == blue
        assert lightness(colour) == pytest.approx(int(name), abs=0.5)


def _luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def _themes() -> dict[str, dict[str, str]]:
    css = (STATIC / "css" / "tokens.css").read_text()
    light = css[css.index(":root {") : css.index("@media (prefers-color-scheme")]
    dark = css[css.index(':root[data-theme="dark"]') :]
    values = dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", css))

    def roles(block: str) -> dict[str, str]:
        found = re.findall(r"--([\w-]+): var\(--([\w-]+)\)", block[: block.rindex("}")])
        return {role: values[name] for role, name in found if name in values}

    first = roles(light)
    return {"light": first, "dark": {**first, **roles(dark[: dark.index("}") + 1])}}


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize(
    ("front", "back", "least"),
    [
        ("ink", "paper", 7.0), ("ink", "sheet", 7.0), ("ink-soft", "paper", 4.5),
        ("ink-soft", "sheet", 4.5), ("ink-soft", "sunk", 4.5), ("accent", "sheet", 4.5),
        ("accent", "sunk", 4.5), ("on-accent", "accent", 4.5), ("on-inverse", "inverse", 7.0),
        ("booth-ink", "booth", 4.5), ("line-strong", "sheet", 3.0),
        ("line-strong", "paper", 3.0),
        ("focus", "paper", 3.0), ("booth-line", "booth", 3.0),
    ],
)  # fmt: skip
def test_contrast_meets_wcag_in_both_themes(
    theme: str, front: str, back: str, least: float
) -> None:
    """The ratio of WCAG 2.2, success criteria 1.4.3 and 1.4.11."""
    roles = _themes()[theme]

    high, low = sorted((_luminance(roles[front]), _luminance(roles[back])), reverse=True)

    assert (high + 0.05) / (low + 0.05) >= least


def test_the_two_places_that_set_the_dark_theme_agree() -> None:
    css = (STATIC / "css" / "tokens.css").read_text()
    device = css[css.index(':root:not([data-theme="light"]) {') :]
    chosen = css[css.index(':root[data-theme="dark"] {') :]

    def lines(block: str) -> list[str]:
        return [line.strip() for line in block[: block.index("}")].strip().splitlines()[1:]]

    assert lines(device) == lines(chosen)


def test_every_vendored_file_has_its_licence_beside_it() -> None:
    assert "MIT License" in (STATIC / "vendor" / "signature_pad" / "LICENSE").read_text()
    for face in (STATIC / "vendor" / "fonts").iterdir():
        assert "SIL Open Font License" in (face / "OFL.txt").read_text()
        assert (face / "latin.woff2").exists()
