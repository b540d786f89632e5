"""Repeat or correct: what is left, what builds up, how much this hair takes."""

from dataclasses import replace

import numpy as np
import pytest

from formulas import engine
from formulas.engine.prediction.doubts import TAKE_DOUBT
from formulas.engine.toner.deposit import residual_ks
from formulas.engine.toner.uptake import kept
from tests.formulas.engine.lines_for_tests import LINE, OTHER

HAIR = engine.Zone(8.0)
COOL = {"8 violet-blue": 2, "clear": 1}
CHART = engine.Chart.default()


def _visit(**more: object) -> engine.Visit:
    return replace(engine.Visit(HAIR, COOL, washes_since=12), **more)  # type: ignore[arg-type]


def _ks(residual: engine.Residual | None) -> np.ndarray:
    return residual_ks(replace(HAIR, residual=residual), CHART)


def test_one_visit_leaves_what_one_residual_holds() -> None:
    one = engine.left_over([_visit(minutes=10)], LINE, HAIR)

    plain = engine.Residual(LINE, COOL, minutes=10, washes=12)
    assert _ks(one) == pytest.approx(_ks(plain), rel=1e-6)


def test_several_visits_leave_no_more_than_the_sum_of_what_each_left() -> None:
    visits = [_visit(), _visit(parts={"9 pearl": 1}, washes_since=5, minutes=15), _visit()]

    together = engine.left_over(visits, LINE, HAIR)

    each = [
        engine.Residual(LINE, COOL, washes=29),
        engine.Residual(LINE, {"9 pearl": 1}, minutes=15, washes=17),
        engine.Residual(LINE, COOL, washes=12),
    ]
    assert np.all(_ks(together) < sum(_ks(r) for r in each))
    assert np.all(_ks(together) > _ks(each[-1]))


def test_repeated_toning_saturates() -> None:
    """No more colour after the first cycles: abstract of "Hair color changes caused by dyeing
    and thermal treatments" (six permanent products); a demi-permanent toner is given some."""
    mix = {"8 violet-blue": 1.0}
    sums = [
        float(_ks(engine.left_over([_visit(parts=mix, washes_since=0)] * n, LINE, HAIR)).sum())
        for n in (1, 2, 3, 20)
    ]

    assert sums[0] < sums[1] < sums[2] <= sums[3] < 1.9 * sums[0]
    assert sums[2] - sums[1] < 0.5 * (sums[1] - sums[0])


def test_no_visit_leaves_nothing() -> None:
    assert engine.left_over([], LINE, HAIR) is None


def test_cool_tones_repeated_build_up_and_it_is_said() -> None:
    """Common practice, no source: the same cool toner each time gets deeper and cooler."""
    again = engine.repeat([_visit(washes_since=1)], LINE)

    deeper = [look.levels_deeper_looks for look in again.ahead]
    warmth = [look.warmth_left_percent for look in again.ahead]
    assert deeper == sorted(deeper)
    assert warmth == sorted(warmth, reverse=True)
    said = {s.code: s for s in again.sentences}
    assert said["repeat_builds_up"].values["levels"] == pytest.approx(deeper[-1] - deeper[0])


def test_build_up_levels_off_below_the_sum_of_what_the_washes_leave() -> None:
    left = kept(6, kind=LINE.kind)
    many = [
        engine.left_over([_visit(washes_since=6)] * count, LINE, HAIR) for count in (60, 61)
    ]

    once = _ks(engine.Residual(LINE, COOL))
    assert _ks(many[0]) == pytest.approx(_ks(many[1]), rel=1e-6)
    assert np.all(_ks(many[0]) < once * left / (1 - left))
    assert np.all(_ks(many[0]) > once * left)


def test_washed_out_toner_is_repeated_as_it_was() -> None:
    again = engine.repeat([_visit(washes_since=60)], LINE)

    assert again.again
    assert again.same.warmth_left_percent == pytest.approx(
        again.last.warmth_left_percent, abs=2
    )
    assert again.sentences[0].code == "repeat"


def test_fresh_toner_calls_for_a_correction() -> None:
    again = engine.repeat([_visit(washes_since=4)], LINE)

    assert not again.again
    assert again.same.levels_deeper_looks > again.last.levels_deeper_looks
    assert again.sentences[0].code == "correct"


def test_the_zone_is_ready_for_the_next_prediction() -> None:
    again = engine.repeat([_visit(washes_since=8), _visit(washes_since=8)], LINE)

    read = engine.predict(again.zone, LINE, COOL)

    assert read.dry_lab.value == pytest.approx(again.same.lab, abs=1e-6)


@pytest.mark.parametrize("take", [0.8, 1.25])
def test_hair_that_takes_more_or_less_is_found_out(take: float) -> None:
    visits: list[engine.Visit] = []
    strengths = dict.fromkeys(LINE.names, take)
    for level in (7.5, 8.0, 8.5, 8.0):
        zone = engine.Zone(level)
        residual = engine.left_over(visits, LINE, zone, strengths=strengths)
        seen = engine.predict(replace(zone, residual=residual), LINE, COOL, strengths=strengths)
        visits.append(engine.Visit(zone, COOL, washes_since=14, lab=seen.dry_lab.value))

    again = engine.repeat(visits, LINE)

    # Four visits, measured: most of it is found; the prior keeps a part.
    assert 0.5 <= np.log(again.take.value) / np.log(take) <= 1.0
    assert again.take.low < take < again.take.high
    assert again.zone.take == again.take.value
    assert ("takes_less" if take < 1 else "takes_more") in {s.code for s in again.sentences}


def test_without_results_the_hair_takes_what_the_model_says() -> None:
    again = engine.repeat([_visit(), _visit()], LINE)

    assert again.take.value == 1.0
    assert again.take_doubt == pytest.approx(TAKE_DOUBT)
    assert again.results == 0


def test_one_odd_result_among_many_moves_the_take_little() -> None:
    plain = engine.predict(HAIR, LINE, COOL)
    usual = [_visit(washes_since=1000, lab=plain.dry_lab.value)] * 3
    odd = _visit(washes_since=1000, level=plain.level.value - 3.0)

    again = engine.repeat([*usual, odd], LINE)

    assert again.take.value == pytest.approx(1.0, abs=0.05)


def test_the_takes_doubt_narrows_with_results() -> None:
    lab = engine.predict(HAIR, LINE, COOL).dry_lab.value
    visits = [_visit(washes_since=1000, lab=lab)] * 6

    doubts = [engine.repeat(visits[:n], LINE).take_doubt for n in (1, 3, 6)]

    assert TAKE_DOUBT > doubts[0] > doubts[1] > doubts[2]


def test_bad_visits_are_named() -> None:
    with pytest.raises(ValueError, match="visits"):
        engine.repeat([], LINE)
    with pytest.raises(ValueError, match="washes_since"):
        _visit(washes_since=-1)
    with pytest.raises(ValueError, match="9 slight violet-blue"):
        engine.repeat(
            [_visit(parts={"9 slight violet-blue": 1})], replace(OTHER, shades=OTHER.shades[:3])
        )
