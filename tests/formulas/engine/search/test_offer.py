"""What is offered keeps to practice, forgives, and serves a wish for depth."""

import json

import numpy as np
import pytest

from formulas import engine
from formulas.engine.cli.command import main
from formulas.engine.prediction.candidates import read_rows
from formulas.engine.search.picking import SAME_LEVELS, SAME_PERCENT
from formulas.engine.search.practice import Practice
from formulas.engine.search.slips import Slips
from formulas.engine.search.weighing import LEVELS_UNIT, PERCENT_UNIT, weighed
from tests.formulas.engine.lines_for_tests import LINE, OTHER


@pytest.mark.parametrize("level", [6.0, 7.5, 8.0, 9.0, 10.0])
@pytest.mark.parametrize("line", [LINE, OTHER], ids=lambda line: line.name)
def test_every_offered_mix_keeps_to_practice(level: float, line: engine.Line) -> None:
    """Common practice, no source: tone on the level, clear as a helper, weighable portions."""
    found = engine.offer(engine.Zone(level), line)

    assert found.keeps_to_practice
    for one in found.places:
        parts = dict(one.mix.parts)
        whole = sum(parts.values())
        assert len(parts) <= 3
        assert parts.get("clear", 0) <= whole / 2
        assert min(parts.values()) / whole * found.within.colour_grams >= 2.0
        for name in parts:
            own = line.shade(name).level
            assert own is None or level - 2 <= own <= level + 1


def test_all_mixes_stay_searched() -> None:
    found = engine.offer(engine.Zone(8), LINE)

    assert found.every.evaluated == engine.search(engine.Zone(8), LINE).evaluated
    assert found.within.evaluated < found.every.evaluated


def test_it_tells_what_practice_costs() -> None:
    for one in engine.offer(engine.Zone(8), LINE).places:
        assert 0.0 <= one.cost_levels < 0.35


def test_places_run_from_warm_to_cool() -> None:
    warmth = [p.mix.warmth_left_percent for p in engine.offer(engine.Zone(8), LINE).places]

    assert warmth == sorted(warmth, reverse=True)
    assert len({p.key for p in engine.offer(engine.Zone(8), LINE).places}) == 3


def test_the_forgiving_one_leads_among_mixes_that_look_alike() -> None:
    zone = engine.Zone(8)
    found = engine.offer(zone, LINE)
    result = found.within
    slips = Slips(zone, result, LINE, engine.Setting())
    for one in found.places:
        near = np.flatnonzero(
            (np.abs(result.pool.warmth - one.mix.warmth_left_percent) < SAME_PERCENT / 4)
            & (
                np.abs(
                    result.judge.levels_deeper_at(result.pool.lightness)
                    - one.mix.levels_deeper_looks
                )
                < SAME_LEVELS / 4
            )
        )
        others = slips.of(result.space.fractions(result.pool.rows[near]))

        assert one.slip <= float(np.median(others)) + 0.25


@pytest.mark.parametrize("level", [7.0, 7.5, 8.0, 8.5, 9.0, 10.0])
def test_no_offered_mix_is_olive_or_rosy(level: float) -> None:
    """Common practice, no source: blue alone turns lightened hair olive, violet takes that."""
    found = engine.offer(engine.Zone(level), LINE)

    for one in found.along:
        assert abs(one.mix.cast) <= 5.0, one.mix
    for one in found.places:
        assert abs(one.mix.cast) <= 2.5, one.mix


def test_a_slip_is_what_predictions_differ_by() -> None:
    """Against `predict`: half a gram more, five minutes more, a quarter of a level misread."""
    zone, mix = engine.Zone(8), {"8 natural": 2, "8 violet-blue": 1}
    result = engine.search(zone, LINE)
    grams = result.colour_grams

    def read(**how: object) -> np.ndarray:
        level = float(how.pop("level", 8.0))  # type: ignore[arg-type]
        parts = how.pop("parts", mix)
        told = engine.predict(engine.Zone(level), LINE, parts, **how)  # type: ignore[arg-type]
        return np.array([told.warmth_left_percent.value, told.levels_deeper_looks.value])

    here = read()

    def moved(there: np.ndarray) -> float:
        return float(weighed(there[0] - here[0], abs(there[1] - here[1])))

    over = max(
        moved(
            read(parts={k: v * grams / 3 + (0.5 if k == name else 0) for k, v in mix.items()})
        )
        for name in mix
    )
    longer = moved(read(minutes=LINE.processing_minutes + 5))
    misread = max(moved(read(level=level)) for level in (7.75, 8.25))

    found = Slips(zone, result, LINE, engine.Setting()).of(result.bed.fractions(mix)[None])

    assert found[0] == pytest.approx(np.sqrt(over**2 + longer**2 + misread**2), rel=1e-6)


def test_a_wanted_level_makes_a_cool_brunette() -> None:
    zone = engine.Zone(8)
    plain = engine.offer(zone, LINE).places[-1].mix
    deep = engine.offer(zone, LINE, wanted_level=5.5).places[-1].mix
    judge = engine.search(zone, LINE).judge

    assert deep.levels_deeper_looks > plain.levels_deeper_looks + 0.5
    assert float(judge.looks_level(np.array(deep.lab))) == pytest.approx(5.5, abs=0.3)
    assert deep.warmth_left_percent < 25


def test_a_line_with_no_shade_within_practice_still_offers() -> None:
    from dataclasses import replace

    dark = replace(LINE, shades=tuple(s for s in LINE.shades if s.level in {None, 5.0}))

    found = engine.offer(engine.Zone(9), dark)

    assert not found.keeps_to_practice
    assert found.places


@pytest.mark.parametrize("wanted", [None, 6.0])
def test_where_much_is_white_shades_are_chosen_around_the_wanted_level(
    wanted: float | None,
) -> None:
    """Common practice, no source: white hair, lifted to nothing, is toned on the wish."""
    zone = engine.Zone(9, white_percent=60, natural_level=5)
    found = engine.offer(zone, LINE, wanted_level=wanted)
    every = found.every
    looks = min(float(every.judge.looks_level(every.judge.start_lab)), 10.0)
    around = looks if wanted is None else wanted

    assert found.shades_within == {
        shade.name
        for shade in LINE.shades
        if shade.level is None or around - 2 <= shade.level <= around + 1
    }
    used = {name for one in found.along for name, _part in one.mix.parts}
    assert used <= found.shades_within


@pytest.mark.parametrize("wanted", [None, 6.0])
def test_mixes_run_along_the_trade_off(wanted: float | None) -> None:
    along = engine.offer(engine.Zone(8), LINE, wanted_level=wanted).along

    warmth = [one.mix.warmth_left_percent for one in along]
    assert warmth == sorted(warmth, reverse=True)
    assert len(along) >= 12
    assert len({one.mix.parts for one in along}) == len(along)
    if wanted is None:  # cooler never looks lighter
        deeper = [one.mix.levels_deeper_looks for one in along]
        assert deeper == sorted(deeper)


def test_a_short_list_leads_with_what_is_offered_there() -> None:
    found = engine.offer(engine.Zone(8), LINE)

    for one in found.along:
        first, *others = found.short_list(one.mix.warmth_left_percent, k=4)
        assert first == one
        assert len(others) == 3
        assert len({other.mix.parts for other in (first, *others)}) == 4


def test_ranges_of_many_mixes_are_those_of_each() -> None:
    found = engine.offer(engine.Zone(8, 0.3, porosity=0.5), LINE)

    for one in engine.shown(found, found.along)[::5]:
        told = engine.predict(found.zone, LINE, one.parts)
        for name in ("warmth_left_percent", "levels_deeper_looks"):
            ours, theirs = getattr(one, name), getattr(told, name)
            assert vars(ours) == pytest.approx(vars(theirs), rel=1e-9)
        assert (one.dry_hex, one.damp_hex) == (told.dry_hex, told.damp_hex)


def test_the_owner_decides_whether_simple_ratios_lead() -> None:
    """In all: the same looks, forgiving alike, in fewer parts and shades."""

    def fiddly(simple_first: bool) -> int:
        practice = Practice(simple_first=simple_first)
        mixes = [
            p.mix.parts for p in engine.offer(engine.Zone(8), LINE, practice=practice).along
        ]
        return sum(sum(n for _, n in parts) + 2 * len(parts) for parts in mixes) // len(mixes)

    assert fiddly(True) < fiddly(False)


def test_the_owner_sets_the_limits() -> None:
    close = Practice(levels_below=0, levels_above=0, most_clear=0.0, most_shades=2)

    for one in engine.offer(engine.Zone(8), LINE, practice=close).places:
        assert {LINE.shade(name).level for name, _ in one.mix.parts} == {8.0}
        assert len(one.mix.parts) <= 2


@pytest.mark.parametrize(
    "wrong",
    [{"levels_below": -1}, {"most_clear": 2}, {"most_shades": 0}, {"smallest_grams": -1}],
)
def test_limits_out_of_range_are_named(wrong: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=next(iter(wrong))):
        Practice(**wrong)  # type: ignore[arg-type]


def test_warmth_and_depth_weigh_as_written() -> None:
    assert weighed(PERCENT_UNIT, 0.0) == 1.0
    assert weighed(-PERCENT_UNIT, LEVELS_UNIT) == 2.0
    assert weighed(0.0, -3.0) == 0.0


def test_suggest_prints_the_offered_mixes(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["suggest", "--level", "8", "--json"]) == 0

    places = json.loads(capsys.readouterr().out)["places"]
    assert [place["key"] for place in places] == ["bright", "between", "cool"]
    for place in places:
        assert all(isinstance(part, int) for part in place["parts"].values())
        for name in ("warmth_left_percent", "levels_deeper_looks"):
            number = place[name]
            assert number["low"] <= number["value"] <= number["high"]


def test_where_what_practice_allows_fills_no_bowl_all_mixes_are_offered() -> None:
    stock = {**dict.fromkeys(LINE.names, 0.0), "5 copper": 100.0, "8 violet": 5.0}

    found = engine.offer(engine.Zone(8), LINE, grams_in_stock=stock)

    assert not found.keeps_to_practice
    assert found.within is found.every
    assert "5 copper" in dict(found.places[0].mix.parts)


@pytest.mark.parametrize(
    ("smallest", "grams", "parts"),
    [(0.0, 4.0, 6), (2.0, 30.0, 6), (2.0, 8.0, 4), (2.0, 6.0, 3), (5.0, 4.0, 1)],
)
def test_parts_are_as_many_as_can_be_weighed(smallest: float, grams: float, parts: int) -> None:
    assert Practice(smallest_grams=smallest).most_parts(grams, 6) == parts


def test_what_is_read_already_is_not_read_again_for_slips() -> None:
    zone = engine.Zone(7.5, white_percent=30.0)
    result = engine.search(zone, LINE, max_shades=2, max_parts=3)
    slips = Slips(zone, result, LINE, engine.Setting())
    rows = np.arange(0, result.space.size, 7)
    readings = read_rows(result.bed, result.judge, result.space, rows)
    fractions = result.space.fractions(rows)

    assert np.array_equal(slips.of(fractions, readings), slips.of(fractions))
