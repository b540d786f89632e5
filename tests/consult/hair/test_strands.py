"""Strands to compare hair with: in order, and as far apart as an eye can tell.

Differences are CIEDE2000, checked elsewhere against the pairs of Sharma, Wu and Dalal (2005).
That 2 is told apart beside hair and 6 is still a small step: common practice, no source.
"""

from itertools import pairwise
from typing import cast

import numpy as np
import pytest

from consult.forms.fields import Strands, Undertone
from formulas.drawing import strands
from formulas.engine import Chart, Zone
from formulas.engine.light.colorimetry import hex_to_lab, lab_to_hex, reflectance_to_lab
from formulas.snapshots import Prediction

CHART = Chart.default()
LEAST, MOST = 2.0, 6.0
LIFTED = [level for level in strands.HALF_LEVELS if level >= 4.0]
HAIR = {
    "orange": Zone(7.5),
    "yellow": Zone(9.0),
    "pale": Zone(10.0),
    "brown": Zone(5.5),
    "half white": Zone(8.0, white_percent=50),
    "white": Zone(9.0, white_percent=100),
}


def _predicted(zone: Zone, deeper: float, warmth: float) -> Prediction:
    """Return as much of a prediction as strands are drawn from."""
    start = reflectance_to_lab(zone.reflectance(CHART))
    level = min(10.0, zone.lifted_level) - deeper
    natural = CHART.natural_lab
    lightness = float(CHART.natural_lab_at(level)[0])
    neutral = np.array([np.interp(lightness, natural[:, 0], natural[:, k]) for k in (1, 2)])
    tinted = neutral + warmth / 100 * (start[1:] - neutral)
    plain = {
        "start_hex": lab_to_hex(start),
        "dry_hex": lab_to_hex(np.array([lightness, *tinted])),
        "level": {"value": level, "low": level, "high": level},
        "warmth_left_percent": {"value": warmth, "low": warmth, "high": warmth},
    }
    return cast("Prediction", plain)


@pytest.mark.parametrize("hair", HAIR)
@pytest.mark.parametrize(("deeper", "warmth"), [(0.2, 60.0), (1.0, 20.0), (1.5, 0.0)])
def test_strands_of_a_result_can_be_told_apart(hair: str, deeper: float, warmth: float) -> None:
    predicted = _predicted(HAIR[hair], deeper, warmth)

    for row in (
        strands.depth_strands(CHART, predicted), strands.warmth_strands(CHART, predicted)
    ):  # fmt: skip
        apart = strands.distances([strand.hex for strand in row])
        assert min(apart) >= LEAST, row
        assert max(apart) <= MOST, row
        assert row[2].step == 0.0
        assert row[2].hex == predicted["dry_hex"]


@pytest.mark.parametrize("hair", HAIR)
def test_strands_of_a_result_are_in_order(hair: str) -> None:
    predicted = _predicted(HAIR[hair], 1.0, 30.0)

    depth = [hex_to_lab(s.hex)[0] for s in strands.depth_strands(CHART, predicted)]
    warmth = [hex_to_lab(s.hex) for s in strands.warmth_strands(CHART, predicted)]

    assert all(lighter > deeper for lighter, deeper in pairwise(depth))
    yellow = [float(lab[2]) for lab in warmth]
    assert all(warmer > cooler for warmer, cooler in pairwise(yellow))
    steps = [strand.step for strand in strands.warmth_strands(CHART, predicted)]
    assert steps == sorted(steps, reverse=True)


def test_each_hair_is_read_in_the_finest_steps_that_can_be_told_apart() -> None:
    of = {name: strands.read_in(CHART, _predicted(HAIR[name], 1.0, 30.0)) for name in HAIR}

    assert of["brown"]["warmth"] < of["pale"]["warmth"] <= strands.WARMTH_STEPS[-1]
    assert of["pale"]["depth"] == 0.5 < of["brown"]["depth"] == 1.0


def test_what_was_picked_is_drawn_again_as_it_was_seen() -> None:
    """The strand pressed and the strand of the client's history are one colour."""
    for zone in HAIR.values():
        predicted = _predicted(zone, 1.0, 30.0)
        for strand in strands.warmth_strands(CHART, predicted):
            again = strands.seen_hex(CHART, predicted, deeper=0.0, warmer=strand.step)
            assert again == strand.hex


@pytest.mark.parametrize("level", LIFTED)
def test_strands_of_a_reading_can_be_told_apart_and_are_in_order(level: float) -> None:
    """From more orange to more golden: the hue turns one way, and no step is too small."""
    drawn = strands.undertone_strands(CHART)
    key = f"{level:.1f}"
    offered = [
        colour
        for colour, is_apart in zip(drawn["levels"][key], drawn["apart"][key], strict=True)
        if is_apart
    ]

    assert len(offered) >= 4
    assert min(strands.distances(offered)) >= LEAST
    assert max(strands.distances(offered)) <= MOST
    hues = [float(np.arctan2(lab[2], lab[1])) for lab in map(hex_to_lab, offered)]
    assert all(orange < golden for orange, golden in pairwise(hues))


def test_a_strand_that_looks_like_its_neighbour_is_left_out_unless_it_was_chosen() -> None:
    drawn = strands.undertone_strands(CHART)
    widget = Undertone()

    widget.show(drawn, "10.0", "")
    without = widget.render("undertone", "")
    widget.show(drawn, "10.0", "0.5")
    chosen = widget.render("undertone", "0.5")

    assert [without.count("<input"), without.count(" hidden")] == [5, 1]
    assert " hidden" not in chosen
    assert isinstance(widget, Strands)
