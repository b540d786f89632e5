"""One head with its zones: attributes only, and nothing typed gets into its drawing."""

import xml.etree.ElementTree as ET

from django.template import Context, Template

from consult.drawing.head import ZONES, head_svg

LABELS = {"roots": "Roots", "mid_lengths": "Mid-lengths", "ends": "Ends"}


def test_the_head_draws_each_zone_in_its_colour_and_the_unread_hatched() -> None:
    zones = [{"zone": "roots", "hex": "#7a4423", "note": "level 5"}]

    drawn = Template("{% load heads %}{% head zones %}").render(Context({"zones": zones}))

    assert 'data-zone="roots" data-strand="#7a4423"' in drawn
    assert drawn.count('data-read="no"') == 2
    assert "Roots: level 5, Mid-lengths: not read yet, Ends: not read yet" in drawn
    assert "style=" not in drawn


def test_the_head_escapes_what_people_type() -> None:
    svg = head_svg({}, labels=LABELS, notes=dict.fromkeys(ZONES, "<b>"), title='"<i>')

    ET.fromstring(svg)  # noqa: S314 - drawn here
    assert "<b>" not in svg
