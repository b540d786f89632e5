"""The trade-off plot: scales, thinning, words, the data island."""

import json
import re
import xml.etree.ElementTree as ET
from html import unescape
from typing import Unpack

import pytest
from django.template import Context, Template
from django.utils import translation

from consult.screens.component_gallery import sample_curve
from formulas.drawing.curve import curve_svg, levels, percent
from formulas.drawing.island import curve_island, sentence
from formulas.drawing.plot import (
    BOTTOM,
    LEFT,
    MOST_MIXES,
    RIGHT,
    TOP,
    PlainCurve,
    PlainMix,
    PlainPlace,
    read_curve,
)


def plain(**changes: Unpack[PlainCurve]) -> PlainCurve:
    return {**sample_curve(), **changes}


def draw(curve: PlainCurve, arguments: str = "") -> str:
    source = "{% load tradeoff %}{% tradeoff_curve curve " + arguments + " %}"
    return Template(source).render(Context({"curve": curve}))


def test_warm_is_left_and_deep_is_down() -> None:
    curve = read_curve(plain())

    assert curve.x(100) == LEFT
    assert curve.x(curve.coolest) == pytest.approx(RIGHT)
    assert curve.y(0) == TOP
    assert curve.y(curve.deepest) == pytest.approx(BOTTOM)
    assert curve.x(80) < curve.x(20)
    assert curve.y(0.5) < curve.y(2.0)


def test_every_mix_stays_inside_the_plot() -> None:
    curve = read_curve(plain())

    for mix in curve.mixes:
        assert LEFT <= curve.x(mix.warmth) <= RIGHT
        assert TOP <= curve.y(mix.deeper) <= BOTTOM


def test_the_nearest_mix_is_found_and_the_lighter_of_two_as_near() -> None:
    mixes: list[PlainMix] = [
        {"warmth_left_percent": 50, "levels_deeper_looks": 2.0, "hex": "#111111"},
        {"warmth_left_percent": 40, "levels_deeper_looks": 1.0, "hex": "#222222"},
    ]

    found = read_curve(plain(mixes=mixes)).mix_at(45)

    assert found is not None
    assert found.hex == "#222222"


def test_a_long_frontier_is_thinned_and_keeps_places_and_choice() -> None:
    mixes: list[PlainMix] = [
        {"warmth_left_percent": 100 - i / 5, "levels_deeper_looks": i / 200, "hex": "#777777"}
        for i in range(500)
    ]
    places: list[PlainPlace] = [{"key": "cool", "label": "Cool", "warmth_left_percent": 12.2}]

    curve = read_curve(plain(mixes=mixes, places=places, chosen=63.4))

    kept = [mix.warmth for mix in curve.mixes]
    assert len(kept) <= MOST_MIXES + 2
    assert min(abs(w - 12.2) for w in kept) < 1e-9
    assert min(abs(w - 63.4) for w in kept) < 1e-9
    assert kept == sorted(kept, reverse=True)


def test_far_past_neutral_is_left_out() -> None:
    mixes: list[PlainMix] = [
        {"warmth_left_percent": w, "levels_deeper_looks": 1, "hex": "#777777"}
        for w in (50, -60)
    ]

    assert [m.warmth for m in read_curve(plain(mixes=mixes)).mixes] == [50]


def test_the_region_beyond_the_limit_is_hatched_and_named() -> None:
    svg = curve_svg(read_curve(plain()), title="t", key="k")

    ET.fromstring(svg)  # noqa: S314 - drawn here
    assert 'fill="url(#beyond-k)"' in svg
    assert "No mix can be here:" in svg
    assert "style=" not in svg
    assert "nan" not in svg


def test_nothing_worked_out_yet_says_so_and_draws_axes() -> None:
    drawn = draw({"limit": [], "mixes": [], "places": [], "chosen": None, "start": {}})

    assert "No mix from this stock has been calculated yet." in drawn
    assert "data-axes" in drawn
    assert "strand-pair" not in drawn


def test_without_script_the_slider_is_an_ordinary_field() -> None:
    drawn = draw(plain(name="aim", chosen=45))

    field = re.search(r"<input[^>]*type=\"range\"[^>]*>", drawn)
    assert field is not None
    for part in ('name="aim"', 'value="45"', 'min="-10"', 'max="100"', "aria-valuetext="):
        assert part in field.group(0)


def test_numbers_of_the_field_stay_machine_readable_in_german() -> None:
    with translation.override("de"):
        drawn = draw(plain(chosen=45.4))

    assert 'value="45"' in drawn
    assert ">1,3<" in drawn  # the table speaks the reader's own digits


def test_read_only_has_neither_field_nor_data() -> None:
    drawn = draw(plain(), "readonly=True")

    assert "<input" not in drawn
    assert "application/json" not in drawn
    assert "data-curve" not in drawn


def test_the_island_is_data_and_cannot_leave_its_attribute() -> None:
    mixes: list[PlainMix] = [{**sample_curve()["mixes"][0], "label": """'\"><b>"""}]

    drawn = draw(plain(mixes=mixes))

    island = re.search(r'data-island="([^"]*)"', drawn)
    assert island is not None
    assert json.loads(unescape(island.group(1)))["mixes"][0]["label"] == """'\"><b>"""


def test_two_curves_on_a_page_have_ids_of_their_own() -> None:
    page = draw(plain()) + draw(plain(chosen=10))

    ids = re.findall(r'\sid="([^"]+)"', page)
    assert len(ids) == len(set(ids))


def test_a_mix_is_said_with_its_interval() -> None:
    said = sentence(read_curve(plain()).mixes[7])

    assert said.startswith("45 % of the warmth left; the hair looks about 1.3 levels deeper")
    assert "(between 1.0 and 1.6)" in said


def test_the_callers_own_sentence_comes_first() -> None:
    mixes: list[PlainMix] = [{**sample_curve()["mixes"][0], "sentence": "Own words."}]

    assert curve_island(read_curve(plain(mixes=mixes)))["mixes"][0]["sentence"] == "Own words."


def test_numbers_have_a_true_minus_and_no_minus_zero() -> None:
    assert percent(-7.6) == "−8 %"
    assert levels(-0.01) == "0.0"
