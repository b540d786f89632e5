"""Strands: deterministic, attributes only, true in lightness.

Outside check: L*a*b* of screen colours against the colour-science library.
"""

import re
import xml.etree.ElementTree as ET

import pytest
from django.template import Context, Template

from salon.drawing.colour import hex_to_lab, lab_to_hex, lightness, shifted
from salon.drawing.strand import HAIRS, balanced, hairs, room, strand_svg

HAIR = ["#1a120e", "#4b2e1f", "#7a4423", "#c98a45", "#dcb26e", "#ead3a0", "#8d8078"]


def render(source: str, **context: object) -> str:
    return Template("{% load components %}" + source).render(Context(context))


@pytest.mark.parametrize("colour", [*HAIR, "#ffffff", "#000000", "#0a5361"])
def test_lab_agrees_with_the_reference_library(colour: str) -> None:
    reference = pytest.importorskip("colour")
    rgb = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    white = reference.xy_to_xyY([0.3127, 0.3290])[:2]

    expected = reference.XYZ_to_Lab(reference.sRGB_to_XYZ(rgb), white)

    assert hex_to_lab(colour) == pytest.approx(tuple(expected), abs=0.05)


@pytest.mark.parametrize("colour", HAIR)
def test_hex_survives_the_round_trip(colour: str) -> None:
    assert lab_to_hex(hex_to_lab(colour)) == colour


@pytest.mark.parametrize("bad", ["", "red", "#12345", '"><script>', "#gggggg"])
def test_a_colour_that_is_none_is_refused(bad: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        strand_svg(bad)


def test_shift_moves_lightness_by_that_much() -> None:
    moved = shifted(hex_to_lab("#a8642f"), 9.0)

    assert lightness(moved) == pytest.approx(lightness("#a8642f") + 9.0, abs=0.4)


@pytest.mark.parametrize("damp", [False, True])
@pytest.mark.parametrize("size", HAIRS)
def test_light_and_dark_hairs_cancel_out(size: str, damp: bool) -> None:
    strokes = balanced(hairs(HAIRS[size], damp=damp, seed=7))

    total = sum(s.shift * s.area for s in strokes)
    assert total == pytest.approx(0.0, abs=1e-6)
    assert any(s.shift > 0 for s in strokes)
    assert any(s.shift < 0 for s in strokes)


def test_tones_shrink_near_black_and_white() -> None:
    assert room(50) == 1.0
    assert room(5) < 0.5
    assert room(97) < 0.5


def test_a_strand_is_the_same_every_time() -> None:
    first = strand_svg("#c98a45", damp=True, size="l")
    strand_svg.cache_clear()

    assert strand_svg("#c98a45", damp=True, size="l") == first


@pytest.mark.parametrize("damp", [False, True])
def test_a_strand_is_well_formed_and_has_no_inline_style(damp: bool) -> None:
    svg = strand_svg("#c98a45", damp=damp, label="Now")

    root = ET.fromstring(svg)  # noqa: S314 - drawn here
    assert root.get("aria-label") == "Now"
    assert root.get("data-strand") == "#c98a45"
    assert root.findtext("{*}title") == "Now"  # all that WeasyPrint reads
    assert "style=" not in svg
    assert "nan" not in svg


def test_damp_hair_shines_more_sharply_than_dry() -> None:
    def brightest(damp: bool) -> float:
        return max(
            float(v)
            for v in re.findall(r'data-shift="([\d.]+)"', strand_svg("#7a4423", damp=damp))
        )

    assert brightest(True) > 2 * brightest(False)


def test_a_strand_escapes_its_label() -> None:
    drawn = render("{% strand '#c98a45' label=words %}", words='"><script>alert(1)</script>')

    assert "<script>" not in drawn
    assert "&lt;script&gt;" in drawn


def test_a_strand_without_label_is_hidden_from_screen_readers() -> None:
    assert 'aria-hidden="true"' in render("{% strand '#c98a45' %}")
