"""The drawn head: its tones cancel out, and each zone has its own colour."""

import itertools
import re

import pytest

from salon.drawing import portrait

COLOURS = {"roots": "#8a6a45", "mid_lengths": "#a98a5c", "ends": "#c9ad7c"}


def test_locks_and_hairs_are_as_light_as_they_are_dark() -> None:
    """Weighted by how long they are drawn, so that the mean stays the colour itself."""

    def length(path: str) -> float:
        total = 0.0
        for run in path.split("M")[1:]:
            points = [tuple(map(float, point.split())) for point in run.split("L")]
            total += sum(
                ((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5
                for a, b in itertools.pairwise(points)
            )
        return total

    strokes = portrait._strokes()
    weight = [(shift, width * length(path)) for _layer, shift, width, path in strokes]
    mean = sum(shift * area for shift, area in weight) / sum(area for _shift, area in weight)

    assert mean == pytest.approx(0.0, abs=0.4)


def test_each_zone_has_its_own_colour_in_the_plain_gradient() -> None:
    svg = portrait.portrait_svg(COLOURS, key="now", title="Now")
    plain = re.search(r'data-tone="0\.00">(.*?)</linearGradient>', svg, re.DOTALL)

    assert plain
    stops = re.findall(r'data-zone="(\w+)" stop-color="(#\w+)"', plain[1])
    assert [colour for _zone, colour in stops] == [
        colour for zone in ("roots", "mid_lengths", "ends") for colour in (COLOURS[zone],) * 2
    ]
    assert len(set(re.findall(r'id="([^"]+)"', svg))) == svg.count("<linearGradient")


def test_what_was_not_read_is_drawn_like_the_nearest() -> None:
    assert portrait.filled({"ends": "#c9ad7c"}) == dict.fromkeys(COLOURS, "#c9ad7c")
