"""Several zones from one bowl, and porous ends."""

from dataclasses import replace

import numpy as np
import pytest

from formulas import engine
from formulas.engine.prediction.candidates import read_rows
from formulas.engine.prediction.single import Adjusted, read_mix, shorter, thinner
from formulas.engine.search.weighing import LEVELS_UNIT, PERCENT_UNIT
from formulas.engine.visits.zones import Share, advice, common_searches, one_bowl_of
from tests.formulas.engine.lines_for_tests import LINE, SMALL

ROOTS = engine.Wish(engine.Zone(7.5), 40.0)
ENDS = engine.Wish(engine.Zone(8.0, porosity=0.9), 40.0)


def test_one_zone_gets_a_bowl_as_good_as_its_own() -> None:
    bowls = engine.one_bowl({"roots": ROOTS}, SMALL)

    share = bowls.shares["roots"]
    own = abs(share.own.warmth_left_percent - ROOTS.aim) / PERCENT_UNIT
    assert share.cost <= own + 0.1
    assert bowls.one_bowl


def test_like_zones_share_one_bowl() -> None:
    wishes = {"roots": ROOTS, "lengths": engine.Wish(engine.Zone(7.5, 0.1), 40.0)}

    bowls = engine.one_bowl(wishes, LINE)

    assert bowls.one_bowl
    assert bowls.sentences[0].code == "one_bowl"
    assert all(share.reading.parts == bowls.parts for share in bowls.shares.values())


def test_far_apart_zones_are_told_to_take_two_bowls() -> None:
    wishes = {
        "roots": engine.Wish(engine.Zone(5.5), 30.0),
        "ends": engine.Wish(engine.Zone(10), 70.0),
    }

    bowls = engine.one_bowl(wishes, LINE)

    assert not bowls.one_bowl
    assert bowls.sentences[0].code == "separate_bowls"
    assert bowls.sentences[0].values["zone"] in wishes
    for name, share in bowls.shares.items():
        assert abs(share.own.warmth_left_percent - wishes[name].aim) < 5.0


def test_the_common_bowl_is_the_one_whose_worst_zone_suffers_least() -> None:
    wishes = {"roots": ROOTS, "ends": ENDS}
    bowls = engine.one_bowl(wishes, SMALL)
    offers = {name: engine.offer(wish.zone, SMALL) for name, wish in wishes.items()}
    common = common_searches(offers)
    worst = np.zeros(1)
    for name, wish in wishes.items():
        result = common[name]
        rows = np.arange(result.space.size)
        readings = read_rows(result.bed, result.judge, result.space, rows)
        own = bowls.shares[name].own.levels_deeper_looks
        cost = (
            np.abs(readings.warmth - wish.aim) / PERCENT_UNIT
            + np.maximum(readings.looks - own, 0.0) / LEVELS_UNIT
        )
        worst = np.maximum(worst, cost)

    found = max(share.cost for share in bowls.shares.values())

    assert found <= worst.min() + 0.05 + 1e-9


def test_a_common_bowl_keeps_to_the_practice_of_every_zone() -> None:
    wishes = {
        "roots": engine.Wish(engine.Zone(7), 40.0),
        "ends": engine.Wish(engine.Zone(8), 40.0),
    }

    bowls = engine.one_bowl(wishes, LINE)

    levels = [LINE.shade(name).level for name, _ in bowls.parts]
    assert all(level is None or 8 - 2 <= level <= 7 + 1 for level in levels)


def test_porous_ends_get_the_bowl_shorter_or_thinner() -> None:
    """Common practice, no source: porous ends take more, so they get less time or clear."""
    mix = {"8 violet-blue": 1, "clear": 1}
    full = read_mix(ENDS.zone, LINE, mix)
    aim = read_mix(engine.Zone(8.0), LINE, mix).warmth_left_percent

    less = shorter(ENDS.zone, LINE, mix, aim=aim)
    thin = thinner(ENDS.zone, LINE, mix, aim=aim)

    assert full.warmth_left_percent < aim
    assert less is not None
    assert thin is not None
    assert less.minutes < LINE.processing_minutes
    assert thin.clear_parts > 0
    for one in (less, thin):
        assert abs(one.reading.warmth_left_percent - aim) < abs(full.warmth_left_percent - aim)


def test_hair_that_takes_too_little_gets_neither() -> None:
    zone, mix = engine.Zone(7.5, porosity=-1.0), {"10 natural": 1}

    assert shorter(zone, LINE, mix, aim=0.0) is None
    assert thinner(zone, LINE, mix, aim=0.0) is None


def test_a_reading_without_ranges_is_that_of_predict() -> None:
    zone, mix = engine.Zone(6.5, 0.2, 15.0, 0.4), {"7 violet": 2, "8 natural": 1}

    reading = read_mix(zone, LINE, mix, minutes=12)

    prediction = engine.predict(zone, LINE, mix, minutes=12)
    assert reading.lab == pytest.approx(prediction.dry_lab.value)
    assert reading.levels_deeper_looks == pytest.approx(prediction.levels_deeper_looks.value)


def test_clear_in_the_bowl_is_clear_in_the_mix() -> None:
    thinned = read_mix(engine.Zone(8), LINE, {"8 violet": 1}, share=0.5)

    assert thinned.lab == pytest.approx(
        read_mix(engine.Zone(8), LINE, {"8 violet": 1, "clear": 1}).lab
    )


def test_bad_wishes_are_named() -> None:
    with pytest.raises(ValueError, match="wishes"):
        engine.one_bowl({}, SMALL)
    with pytest.raises(ValueError, match=r"aim \[% warmth\]"):
        engine.Wish(engine.Zone(8), float("nan"))
    with pytest.raises(ValueError, match="max_shades"):
        engine.one_bowl({"roots": ROOTS}, SMALL, max_shades=4)


def test_ends_that_take_more_get_it_later_or_thinner() -> None:
    """Without clear in the mix a bowl can still be thinned with it."""
    far = {
        "roots": engine.Wish(engine.Zone(7.5), 60.0),
        "ends": engine.Wish(engine.Zone(7.5, porosity=1.0), 90.0),
    }

    bowls = engine.one_bowl(far, SMALL)

    said = {sentence.code: sentence.values for sentence in bowls.sentences}
    share = bowls.shares["ends"]
    less, thin = share.shorter, share.thinner
    assert less is not None
    assert thin is not None
    assert said["shorter_or_thinner_there"] == {
        "zone": "ends",
        "minutes": less.minutes,
        "clear_parts": thin.clear_parts,
    }
    for adjusted in (less, thin):
        assert adjusted.reading.warmth_left_percent > share.reading.warmth_left_percent


def test_where_no_common_shade_fills_a_bowl_all_mixes_are_read() -> None:
    """Dark copper and pale violet alone: neither is within practice on either zone."""
    two = replace(LINE, shades=(LINE.shade("5 copper"), LINE.shade("10 violet")))
    offers = {name: engine.offer(engine.Zone(7.5 + n), two) for n, name in enumerate("ab")}
    assert all(not found.shades_within for found in offers.values())

    assert common_searches(offers) == {name: found.every for name, found in offers.items()}


def test_zones_of_different_lines_share_no_bowl() -> None:
    offers = {"a": engine.offer(engine.Zone(8), SMALL), "b": engine.offer(engine.Zone(8), LINE)}

    with pytest.raises(ValueError, match="one line and one stock"):
        one_bowl_of(offers, {"a": 40.0, "b": 40.0})


def test_shades_within_practice_on_any_zone_serve_where_the_common_ones_run_short() -> None:
    """On levels 7 and 9 only level 7 is within practice on both: 3 g of it fill no bowl."""
    stock = {"7 natural": 3.0, "6 violet": 60.0, "10 violet": 60.0}
    full = {**dict.fromkeys(LINE.names, 0.0), **stock}
    offers = {
        name: engine.offer(engine.Zone(level), LINE, grams_in_stock=full)
        for name, level in {"roots": 7.0, "ends": 9.0}.items()
    }

    for name, found in common_searches(offers).items():
        assert found is not offers[name].every
        assert set(found.bed.names) == {"6 violet", "10 violet"}


def test_where_only_less_time_helps_no_clear_is_advised() -> None:
    less = Adjusted(8.0, 0.0, read_mix(engine.Zone(8), LINE, {"8 violet": 1}))
    share = Share(less.reading, less.reading, 7.0, 0.0, less, None)

    (sentence,) = advice("ends", share)

    assert sentence.code == "shorter_there"
    assert sentence.values == {"zone": "ends", "minutes": 8.0}
