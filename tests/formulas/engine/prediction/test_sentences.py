"""What a prediction says in sentences, and what it refuses."""

import math
from dataclasses import replace

import pytest

from formulas.engine import Chart, Residual, Shade, Zone, predict
from formulas.engine.light.kubelka_munk import to_reflectance
from formulas.engine.toner.shades import white_hair_ks
from tests.formulas.engine.prediction.test_prediction import LINE, MIX, NUMBERS, _codes


def test_the_last_visits_toner_is_told_apart() -> None:
    residual = Residual(LINE, {"8 violet-blue": 1}, washes=4)

    toned = predict(Zone(7.5, residual=residual), LINE, MIX)
    term = toned.residual_term

    assert term is not None
    assert 100.0 + term.warmth_percent == pytest.approx(toned.start_warmth_percent)
    assert term.warmth_percent < -20
    assert term.levels_deeper > 0.3
    assert predict(Zone(7.5), LINE, MIX).residual_term is None


@pytest.mark.parametrize(
    ("zone", "parts", "how", "code"),
    [
        (Zone(7.5), {"clear": 1}, {}, "clear_only"),
        (Zone(7.5), {"10 violet-blue": 1}, {}, "lighter_than_lifted"),
        (Zone(8), {"8 natural": 5, "8 violet": 1}, {}, "partly"),
        (Zone(8), {"8 violet-blue": 1}, {}, "enough"),
        (Zone(8), {"10 natural": 1}, {}, "lighter_than_lifted"),
        (Zone(8), {"8 copper": 1}, {}, "no_opposite"),
        (Zone(10), {"10 blue": 1}, {}, "green_cast"),
        (Zone(8), {"8 copper": 1}, {}, "red_cast"),
        (Zone(9), {"8 violet": 1}, {}, "ash"),
        (Zone(9), {"9 gold": 1}, {}, "adds_warmth"),
        (Zone(8), {"8 violet": 1}, {"minutes": 0}, "no_deposit"),
        (Zone(8), {"8 violet": 1}, {"minutes": 5}, "short_time"),
        (Zone(8), {"8 violet": 1}, {"minutes": 40}, "long_time"),
        (Zone(8, porosity=0.7), {"8 violet": 1}, {}, "porous"),
        (Zone(8, porosity=-0.7), {"8 violet": 1}, {}, "resistant"),
        (Zone(8, white_percent=40), {"8 violet": 1}, {}, "white"),
        (Zone(10, white_percent=90), {"8 violet": 1}, {}, "little_warmth"),
        (Zone(8), {"8 violet": 1}, {}, "damp"),
        (
            Zone(8, residual=Residual(LINE, {"8 violet": 1}, washes=2)),
            {"8 violet": 1},
            {},
            "build_up",
        ),
    ],
)
def test_it_says_what_matters(
    zone: Zone, parts: dict[str, float], how: dict[str, float], code: str
) -> None:
    said = predict(zone, LINE, parts, **how).sentences  # type: ignore[arg-type]

    assert code in [sentence.code for sentence in said]
    assert all(sentence.text for sentence in said)


def test_it_says_how_much_of_the_pigment_a_lighter_toner_carries() -> None:
    (first, *_) = predict(Zone(7.5), LINE, {"10 violet-blue": 1}).sentences

    assert first.text == (
        "Lighter than the lifted level: it carries about a tenth of the pigment needed."
    )


def test_pigment_needed_is_what_brings_the_warmth_to_a_fifth() -> None:
    from formulas.engine.prediction.numbers import judge_of
    from formulas.engine.prediction.terms import read
    from formulas.engine.toner.deposit import prepare

    (first, *_) = predict(Zone(7.5), LINE, {"10 violet-blue": 1}).sentences
    more = 1.0 / float(first.values["share"])
    bed = prepare(Zone(7.5), LINE)
    fractions = bed.fractions({"10 violet-blue": 1})
    deposit = fractions @ bed.neutral_loads + more * (fractions @ bed.tone_loads)
    toned = bed.reflectance(deposit)

    assert read(judge_of(bed, Chart.default()), toned)[0] == pytest.approx(20.0, abs=1.5)


def test_a_plain_toner_needs_no_warning() -> None:
    assert _codes(predict(Zone(7.5), LINE, MIX)) == ["lighter_than_lifted", "damp"]


@pytest.mark.parametrize(
    ("parts", "how", "message"),
    [
        ({}, {}, r"parts \[parts\] must name at least one shade, given none"),
        ({"8 mauve": 1}, {}, r"Tidepool has no shade '8 mauve'; it has 5 natural"),
        ({"8 violet": -1}, {}, r"parts of 8 violet \[parts\]"),
        (MIX, {"minutes": float("nan")}, r"minutes \[min\]"),
        (MIX, {"minutes": "long"}, r"minutes \[min\] must be a number, given 'long'"),
        (MIX, {"developer_ratio": -1}, r"developer_ratio \[parts\]"),
    ],
)
def test_bad_input_is_named(
    parts: dict[str, float], how: dict[str, object], message: str
) -> None:
    with pytest.raises(ValueError, match=message):
        predict(Zone(7.5), LINE, parts, **how)  # type: ignore[arg-type]


def test_predictions_are_finite_over_the_whole_range() -> None:
    for level in (1, 10):
        for undertone in (-1, 1):
            for white in (0, 100):
                for porosity in (-1, 1):
                    zone = Zone(level, undertone, white, porosity)
                    for minutes in (0, 1, 180):
                        prediction = predict(zone, LINE, MIX, minutes=minutes)
                        for name in NUMBERS:
                            assert math.isfinite(getattr(prediction, name).value)
                            assert math.isfinite(getattr(prediction, name).low)


def test_a_shade_without_any_tone_only_deepens() -> None:
    grey = Shade("8 grey", 8.0)
    line = replace(LINE, shades=(grey, *LINE.shades))

    toned = predict(Zone(8), line, {"8 grey": 1})

    assert "neutral_alone" in [sentence.code for sentence in toned.sentences]
    assert toned.levels_deeper_looks.value > 0.3


def test_nothing_is_said_of_the_time_where_it_is_the_lines_own() -> None:
    usual = predict(Zone(8), LINE, MIX)
    same = predict(Zone(8), LINE, MIX, minutes=LINE.processing_minutes)

    assert same.sentences == usual.sentences
    assert not {"short_time", "long_time"} & {sentence.code for sentence in same.sentences}


def test_a_measured_swatch_carries_as_much_as_the_shade_it_was_measured_of() -> None:
    load = white_hair_ks() + LINE.shade("8 violet-blue").load(Chart.default())
    swatch = Shade("swatch", 8.0, reflectance=to_reflectance(load))
    line = replace(LINE, shades=(swatch, *LINE.shades))

    def share(name: str) -> object:
        said = {s.code: s.values for s in predict(Zone(8), line, {name: 1}).sentences}
        return said["enough"]["share"]

    assert share("swatch") == pytest.approx(share("8 violet-blue"))
