"""The drawn head: its tones cancel out, and each zone has its own colour."""

import itertools
import re

import pytest

from consult.drawing import portrait
from salon.drawing.colour import hex_to_lab, lab_to_linear
from salon.drawing.paths import relative

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


def test_the_light_of_all_tones_adds_up_to_each_zones_colour() -> None:
    """Weighted by the share of the head that each covers; to half a step of 8 bits."""
    svg = portrait.portrait_svg(COLOURS, key="now", title="Now")
    gradients = re.findall(r'data-share="([\d.]+)">(.*?)</linearGradient>', svg, re.DOTALL)

    assert sum(float(share) for share, _stops in gradients) == pytest.approx(1.0, abs=0.001)
    for zone, colour in COLOURS.items():
        light = [0.0, 0.0, 0.0]
        for share, stops in gradients:
            drawn = re.findall(rf'data-zone="{zone}" stop-color="(#\w+)"', stops)
            assert len(set(drawn)) == 1
            assert len(drawn) == 2
            for k, part in enumerate(lab_to_linear(hex_to_lab(drawn[0]))):
                light[k] += float(share) * part
        assert light == pytest.approx(lab_to_linear(hex_to_lab(colour)), abs=0.002)
    assert len(set(re.findall(r'id="([^"]+)"', svg))) == svg.count("<linearGradient")


@pytest.mark.parametrize(
    "path", ["M1.0 2.0L3.5 2.0L3.4 9.9Z", "M10.0 1.0Q2.0 3.0 4.0 5.0M0.0 0.1L9.0 9.0"]
)
def test_a_path_in_steps_leads_to_the_same_places(path: str) -> None:
    numbers = [float(n) for n in re.findall(r"-?[\d.]+", path)]
    pen, start, ends = (0.0, 0.0), (0.0, 0.0), []
    for command, steps in re.findall(r"([mlqz])([^mlqz]*)", relative(path)):
        by = [float(n) for n in re.findall(r"-?[\d.]+", steps)]
        ends += [value + pen[k % 2] for k, value in enumerate(by)]
        pen = start if command == "z" else (ends[-2], ends[-1])
        start = pen if command == "m" else start

    assert ends == pytest.approx(numbers)


def test_what_was_not_read_is_drawn_like_the_nearest() -> None:
    assert portrait.filled({"ends": "#c9ad7c"}) == dict.fromkeys(COLOURS, "#c9ad7c")
