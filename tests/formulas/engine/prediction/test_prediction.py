"""Predictions: ranges, swatches, terms and sentences."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from formulas.engine import Chart, Ranged, Residual, Zone, demo_lines, predict
from formulas.engine.light.colorimetry import lab_to_hex
from formulas.engine.light.kubelka_munk import to_reflectance
from formulas.engine.prediction.doubts import (
    LEVEL_DOUBT,
    MODEL_LEVELS,
    MODEL_WARMTH,
    Doubts,
    doubt_by_kind,
)
from formulas.engine.prediction.prediction import Prediction
from formulas.engine.prediction.terms import Term
from formulas.engine.toner.shades import white_hair_ks

LINE = demo_lines()["Tidepool"]
MIX = {"8 natural": 2, "8 violet-blue": 1}
NUMBERS = (
    "level",
    "warmth_left_percent",
    "levels_deeper_measured",
    "levels_deeper_looks",
    "damp_levels_deeper",
)


def _codes(prediction: Prediction) -> list[str]:
    return [sentence.code for sentence in prediction.sentences]


@pytest.mark.parametrize("name", NUMBERS)
@pytest.mark.parametrize("level", [1, 4, 7.5, 10])
def test_no_number_is_bare(name: str, level: float) -> None:
    number = getattr(predict(Zone(level), LINE, MIX), name)

    assert number.low < number.value < number.high


def test_colours_have_ranges_too() -> None:
    prediction = predict(Zone(7.5), LINE, MIX)

    for lab in (prediction.dry_lab, prediction.damp_lab):
        assert lab.value.shape == (3,)
        assert np.all(lab.low <= lab.value)
        assert np.all(lab.value <= lab.high)
    assert np.all(prediction.damp_lab.value[0] < prediction.dry_lab.value[0])


def test_swatches_are_the_colours() -> None:
    prediction = predict(Zone(7.5), LINE, MIX)

    assert prediction.dry_hex == lab_to_hex(prediction.dry_lab.value)
    assert prediction.damp_hex == lab_to_hex(prediction.damp_lab.value)
    assert prediction.start_hex == lab_to_hex(prediction.start_lab)
    assert prediction.start_damp_hex == lab_to_hex(prediction.start_damp_lab)


def test_a_half_level_either_way_lies_within_the_range() -> None:
    prediction = predict(Zone(7.5), LINE, MIX)

    for level in (7.5 - 2 * LEVEL_DOUBT, 7.5 + 2 * LEVEL_DOUBT):
        other = predict(Zone(level), LINE, MIX)
        for name in ("warmth_left_percent", "levels_deeper_looks", "level"):
            number = getattr(prediction, name)
            slack = 0.1 * (number.high - number.low)
            assert number.low - slack <= getattr(other, name).value <= number.high + slack


def test_range_narrows_with_the_doubt_of_strength() -> None:
    known = dict.fromkeys(MIX, 0.02)
    wide = predict(Zone(7.5), LINE, MIX, doubts=Doubts()).warmth_left_percent
    narrow = predict(Zone(7.5), LINE, MIX, doubts=Doubts(known)).warmth_left_percent

    assert narrow.value == wide.value
    assert narrow.high - narrow.low < wide.high - wide.low


def test_a_measured_shade_is_surer_than_one_known_by_words() -> None:
    by_words = LINE.shade("8 violet-blue")
    white = to_reflectance(white_hair_ks())
    swatch = replace(by_words, reflectance=white * 0.5)

    assert doubt_by_kind(swatch) < doubt_by_kind(by_words)
    assert doubt_by_kind(LINE.shade("clear")) == 0.0


def test_two_shades_doubts_are_combined_shade_by_shade() -> None:
    """Independent doubts of two equal halves are smaller together than one of the whole."""
    sure = Doubts(line=0.0, take=0.0)
    one = predict(Zone(7.5), LINE, {"8 violet": 1}, doubts=sure)
    alike = replace(LINE.shade("8 violet"), name="8 violet twin")
    both = replace(LINE, shades=(*LINE.shades, alike))
    two = predict(Zone(7.5), both, {"8 violet": 1, "8 violet twin": 1}, doubts=sure)

    assert two.level.value == pytest.approx(one.level.value)
    assert two.level.high - two.level.low < one.level.high - one.level.low


def test_the_models_own_doubt_is_in_every_range_until_results_narrow_it() -> None:
    own = predict(Zone(7.5), LINE, {"clear": 1})
    earned = Doubts(depth_factor=0.6, warmth_factor=0.5)
    narrow = predict(Zone(7.5), LINE, {"clear": 1}, doubts=earned)

    assert own.level.high - own.level.value >= 2 * MODEL_LEVELS
    assert own.warmth_left_percent.high - own.warmth_left_percent.value >= 2 * MODEL_WARMTH
    for name, factor in (("level", 0.6), ("warmth_left_percent", 0.5)):
        wide, less = getattr(own, name), getattr(narrow, name)
        assert less.high - less.low == pytest.approx(factor * (wide.high - wide.low))


@pytest.mark.parametrize(
    ("wrong", "named"),
    [
        ({"shades": {"8 violet": 0.9}}, r"8 violet \[share\]"),
        ({"take": -0.1}, r"take \[share\]"),
        ({"depth_factor": 0.0}, r"depth_factor \[factor\]"),
    ],
)
def test_absurd_doubts_are_named(wrong: dict[str, Any], named: str) -> None:
    with pytest.raises(ValueError, match=named):
        Doubts(**wrong)


def test_wetting_is_doubtful_only_where_hair_is_damp() -> None:
    number = predict(Zone(7.5), LINE, MIX).damp_levels_deeper

    assert number.high - number.low > 0.5


def test_doubts_add_in_quadrature() -> None:
    """JCGM 100:2008 (GUM), section 5.1, with a coverage of two."""
    ranged = Ranged.from_pairs(10.0, [[7.0, 13.0], [14.0, 6.0], [10.0, 10.0]])

    assert ranged == Ranged(10.0, 10.0 - 2 * 5.0, 10.0 + 2 * 5.0)


def test_same_question_same_answer() -> None:
    one, other = (predict(Zone(7.5, 0.2, 20, 0.3), LINE, MIX) for _ in range(2))

    assert one.warmth_left_percent == other.warmth_left_percent
    assert one.terms == other.terms


@pytest.mark.parametrize(
    ("zone", "how"),
    [
        (Zone(7.5), {}),
        (Zone(7.5, porosity=0.8), {"minutes": 8, "developer_ratio": 3.0}),
        (Zone(5, -0.5, 40), {"minutes": 40}),
        (Zone(9, residual=Residual(LINE, {"9 violet": 1}, washes=3)), {}),
    ],
)
def test_terms_add_up_to_the_whole_change(zone: Zone, how: dict[str, float]) -> None:
    prediction = predict(zone, LINE, {**MIX, "clear": 2}, **how)  # type: ignore[arg-type]

    warmth = sum(term.warmth_percent for term in prediction.terms)
    levels = sum(term.levels_deeper for term in prediction.terms)

    left = prediction.warmth_left_percent.value - prediction.start_warmth_percent
    assert warmth == pytest.approx(left, abs=1e-6)
    assert levels == pytest.approx(prediction.levels_deeper_looks.value, abs=1e-9)


def _by_part(terms: Sequence[Term]) -> dict[str, tuple[float, float]]:
    """Return warmth and depth summed over the shades that have a part."""
    return {
        part: (
            sum(term.warmth_percent for term in terms if term.part == part),
            sum(term.levels_deeper for term in terms if term.part == part),
        )
        for part in {term.part for term in terms}
    }


def test_terms_name_shades_families_time_porosity_developer_lift_and_room() -> None:
    zone = Zone(7.5, porosity=0.8, residual=Residual(LINE, {"9 violet": 1}, washes=3))
    prediction = predict(zone, LINE, MIX, minutes=8, developer_ratio=3.0)

    assert {(term.shade, term.part) for term in prediction.terms} == {
        *(
            (name, part)
            for name in ("8 natural", "8 violet-blue")
            for part in ("neutral", "violet", "blue")
        ),
        *(("", part) for part in ("time", "porosity", "developer", "lift", "room")),
    }
    moved = _by_part(prediction.terms)
    assert moved["violet"][0] < 0 < moved["violet"][1]
    assert moved["time"][0] > 0 > moved["time"][1]
    assert moved["porosity"][0] < 0 < moved["porosity"][1]
    assert moved["developer"][0] > 0 > moved["developer"][1]
    assert moved["room"][0] > 0 > moved["room"][1]


def test_terms_match_small_steps_of_their_own() -> None:
    """An independent integration: each family added in 400 small steps along the same way."""
    from formulas.engine.prediction.numbers import judge_of
    from formulas.engine.prediction.terms import read
    from formulas.engine.toner.deposit import prepare

    # Lifted so far that it takes what white hair takes: no term for the lift.
    zone = Zone(7.5, natural_level=7.5 - 4 * 1.7**0.5)
    bed = prepare(zone, LINE)
    judge, fractions = judge_of(bed, Chart.default()), bed.fractions(MIX)
    tone, rest = fractions @ bed.tone_loads, fractions @ bed.neutral_loads
    steps, moved = 400, 0.0
    for n in range(steps):
        here = n / steps * (tone + rest)
        before, with_tone, with_rest, with_both = (
            read(judge, bed.reflectance(here + more / steps))
            for more in (0 * tone, tone, rest, tone + rest)
        )
        moved += float((with_tone - before + with_both - with_rest)[0] / 2)

    terms = _by_part(predict(zone, LINE, MIX).terms)

    assert terms["violet"][0] + terms["blue"][0] == pytest.approx(moved, abs=0.5)
