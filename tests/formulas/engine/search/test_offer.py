"""What is offered keeps to practice, forgives, and serves a wish for depth."""

import json

import numpy as np
import pytest

from formulas import engine
from formulas.engine.cli.command import main
from formulas.engine.search.offer import SAME_LEVELS, SAME_PERCENT, Slips
from formulas.engine.search.practice import Practice
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
        assert min(parts.values()) / whole * found.within.colour_grams >= 3.0
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
    slips = Slips(zone, result, LINE, {})
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

    found = Slips(zone, result, LINE, {}).of(result.bed.fractions(mix)[None])

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
