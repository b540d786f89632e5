"""Warmth is said in per cent where that helps, else in words; never below nothing."""

import pytest

from formulas import warmth_words
from formulas.drawing.curve import curve_svg
from formulas.drawing.plot import PlainCurve, PlainMix, PlainStart, read_curve
from formulas.snapshots import WarmthLeft
from formulas.warmth_words import Beginning

PIGMENTED: Beginning = {"start": 100.0, "little": False}
WHITE: Beginning = {"start": 20.0, "little": True}


@pytest.mark.parametrize(
    ("value", "hair", "short"),
    [
        (45.2, PIGMENTED, "45 %"),
        (0.4, PIGMENTED, "0 %"),
        (-0.4, PIGMENTED, "neutral"),
        (-10.0, PIGMENTED, "neutral"),
        (-10.1, PIGMENTED, "ashy"),
        (104.0, PIGMENTED, "100 %"),
        (106.0, PIGMENTED, "warmer than before"),
        (-149.0, WHITE, "ashy"),
        (5.0, WHITE, "neutral"),
        (18.0, WHITE, "as warm as before"),
        (40.0, WHITE, "warmer than before"),
        (30.0, {"start": 60.0, "little": True}, "less warm than before"),
    ],
)
def test_a_percentage_is_shown_only_between_neutral_and_now(
    value: float, hair: Beginning, short: str
) -> None:
    assert warmth_words.short(value, **hair) == short
    full = warmth_words.in_full(value, **hair)
    assert full == (f"{short} of the warmth left" if "%" in short else short)


def test_a_range_says_each_end_as_it_says_a_value() -> None:
    predicted: WarmthLeft = {"warmth_left_percent": {"value": 4.0, "low": -22.0, "high": 31.0}}

    assert warmth_words.range_of(predicted) == "ashy to 31 %"
    assert warmth_words.in_full_of(predicted) == "4 % of the warmth left"
    assert warmth_words.in_full_of(predicted, 62) == "62 % of the warmth left"
    assert warmth_words.in_full_of(predicted, None) == "not recorded"
    of_white: WarmthLeft = {
        **predicted,
        "start_warmth_percent": 10.0,
        "shows_little_warmth": True,
    }
    assert warmth_words.range_of(of_white) == "ashy to warmer than before"


def test_the_chart_of_white_hair_has_no_numbers_of_warmth() -> None:
    mixes: list[PlainMix] = [
        {"warmth_left_percent": w, "levels_deeper_looks": d, "hex": "#777777"}
        for w, d in ((8, 0.2), (-20, 0.9), (-45, 1.8))
    ]
    start: PlainStart = {"hex": "#cccccc", "warmth_percent": 12.0}
    limit = [[12.0, 0.0], [-45.0, 1.5]]
    plain: PlainCurve = {
        "mixes": mixes,
        "limit": limit,
        "start": {**start, "shows_little_warmth": True},
    }

    curve = read_curve(plain)
    drawn = curve_svg(curve, title="t", key="k")

    assert len(curve.mixes) == 3
    assert "%" not in drawn.replace("100%", "")
    assert ">ashy<" in drawn
    # All of it lies on the chart, from where the hair is to the ashiest mix.
    assert (curve.warmest, curve.coolest) == (20.0, -50.0)
    pigmented = read_curve({**plain, "start": {"hex": "#cc8844"}})
    assert "−" not in curve_svg(pigmented, title="t", key="k")
