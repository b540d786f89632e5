"""The search against `predict`, brute force and its own order."""

import itertools
import random
from dataclasses import replace
from math import gcd
from typing import Any

import numpy as np
import pytest

from formulas import engine
from tests.formulas.engine.lines_for_tests import LINE, SMALL, sixty

ZONE = engine.Zone(7.5)


def _brute_force(line: engine.Line) -> list[dict[str, int]]:
    """Every primitive mix, written as plainly as can be."""
    mixes: list[dict[str, int]] = []
    for count in (1, 2, 3):
        for names in itertools.combinations(sorted(line.names), count):
            mixes.extend(
                dict(zip(names, parts, strict=True))
                for parts in itertools.product(range(1, 7), repeat=count)
                if sum(parts) <= 6 and gcd(*parts) == 1
            )
    return mixes


def _unbeaten(read: list[tuple[float, float]]) -> set[tuple[float, float]]:
    return {
        (round(w, 6), round(d, 6))
        for w, d in read
        if not any(
            (w2 <= w and d2 < d - 1e-9) or (w2 < w - 1e-9 and d2 <= d) for w2, d2 in read
        )
    }


def test_a_full_line_is_read_whole() -> None:
    assert engine.search(ZONE, sixty()).evaluated == 669_710


@pytest.mark.parametrize("level", [5.0, 7.5, 10.0])
def test_search_reads_as_predict_does(level: float) -> None:
    zone = engine.Zone(level)
    result = engine.search(zone, SMALL)
    rows = np.array(random.Random(7).sample(range(result.space.size), 30))  # noqa: S311

    for row, candidate in zip(rows, result.read(rows), strict=True):
        prediction = engine.predict(zone, SMALL, dict(candidate.parts))

        assert candidate.warmth_left_percent == pytest.approx(
            prediction.warmth_left_percent.value, abs=1e-9
        )
        assert candidate.levels_deeper_looks == pytest.approx(
            prediction.levels_deeper_looks.value, abs=1e-9
        )
        assert candidate.lab == pytest.approx(prediction.dry_lab.value, abs=1e-9)
        off = abs(result.pool.warmth[row] - candidate.warmth_left_percent)
        assert off <= result.pool.tolerance[0]


@pytest.mark.parametrize("zone", [ZONE, engine.Zone(5.5, -0.6), engine.Zone(9.5, 0.4, 20.0)])
def test_frontier_is_that_of_brute_force(zone: engine.Zone) -> None:
    line = replace(LINE, shades=(*LINE.shades[21:24], LINE.shade("10 violet")))
    result = engine.search(zone, line)
    mixes = _brute_force(line)
    labs = np.stack([engine.predict(zone, line, mix).dry_lab.value for mix in mixes])
    read = list(
        zip(
            result.judge.warmth_left_percent(labs),
            result.judge.levels_deeper_looks(labs),
            strict=True,
        )
    )

    coolest = result.judge.coolest_percent  # of hair with little warmth nobody asks for more
    asked_for = [(w, d) for w, d in read if coolest is None or w >= coolest]
    found = [(c.warmth_left_percent, c.levels_deeper_looks) for c in result.frontier]

    assert len(mixes) == result.evaluated
    assert {(round(w, 6), round(d, 6)) for w, d in found} == _unbeaten(asked_for)


def test_along_the_frontier_depth_never_falls_while_warmth_falls() -> None:
    """Common practice, no source: the cooler the result, the deeper it looks."""
    for level in (5, 6.5, 7.5, 9, 10):
        frontier = engine.search(engine.Zone(level), LINE).frontier

        warmth = [c.warmth_left_percent for c in frontier]
        deeper = [c.levels_deeper_looks for c in frontier]
        assert warmth == sorted(warmth, reverse=True)
        assert deeper == sorted(deeper)


def test_shuffled_shades_give_the_same_answer() -> None:
    shuffled = list(LINE.shades)
    random.Random(3).shuffle(shuffled)  # noqa: S311

    one = engine.search(ZONE, LINE)
    other = engine.search(ZONE, replace(LINE, shades=tuple(shuffled)))

    assert one.frontier == other.frontier
    assert engine.rank(one, [70.0, 40.0, 5.0]) == engine.rank(other, [70.0, 40.0, 5.0])


def test_twins_are_told_apart_by_name() -> None:
    twin = replace(LINE.shade("8 violet-blue"), name="8 violet-blue again")
    line = replace(SMALL, shades=(twin, *LINE.shades[20:29]))

    named = {name for c in engine.search(ZONE, line).frontier for name, _ in c.parts}

    assert "8 violet-blue" in named
    # Both together are the same colour as either alone, in twice the shades.
    assert "8 violet-blue again" not in named


def test_no_mix_asks_for_more_than_the_stock_holds() -> None:
    stock = {name: 4.0 + 3.0 * n for n, name in enumerate(SMALL.names)}

    result = engine.search(ZONE, SMALL, grams_in_stock=stock, bowl_grams=60)

    assert 0 < result.evaluated < result.space.size
    for candidate in [
        *result.frontier,
        *(r.candidate for r in engine.rank(result, [40.0], k=20)[0]),
    ]:
        whole = sum(parts for _, parts in candidate.parts)
        for name, parts in candidate.parts:
            assert 24.0 * parts / whole <= stock[name] + 1e-6


def test_an_empty_stock_says_what_a_bowl_needs() -> None:
    with pytest.raises(ValueError, match=r"grams_in_stock \[g\]"):
        engine.search(ZONE, SMALL, grams_in_stock={})


def test_a_stock_that_fills_no_bowl_is_refused() -> None:
    few = replace(SMALL, shades=SMALL.shades[:2])

    with pytest.raises(ValueError, match=r"grams_in_stock \[g\]: no mix"):
        engine.search(ZONE, few, grams_in_stock=dict.fromkeys(few.names, 6.0))


def test_a_line_of_clear_alone_is_refused() -> None:
    with pytest.raises(ValueError, match="only clear"):
        engine.search(ZONE, replace(LINE, shades=(LINE.shade("clear"),)))


def test_one_shade_is_one_mix() -> None:
    result = engine.search(ZONE, replace(LINE, shades=(LINE.shade("8 violet"),)))

    assert [c.parts for c in result.frontier] == [(("8 violet", 1),)]
    assert len(engine.rank(result, [40.0])[0]) == 1
    assert engine.places(result).distinct == 1


@pytest.mark.parametrize(
    ("argument", "value"),
    [
        ("max_shades", 0),
        ("max_shades", 9),
        ("max_parts", 1.5),
        ("bowl_grams", float("nan")),
        ("grams_in_stock", {"8 violet": -1.0}),
        ("price_per_gram", {"8 violet": float("inf")}),
    ],
)
def test_bad_numbers_are_named(argument: str, value: Any) -> None:
    with pytest.raises(ValueError, match=argument):
        engine.search(ZONE, SMALL, **{argument: value})


def test_a_line_whose_every_mix_is_cooler_than_anybody_asks_is_still_searched() -> None:
    """Half white hair shows little warmth; this line has one strong violet and nothing else."""
    only = replace(LINE, shades=(LINE.shade("5 violet"),))
    found = engine.search(engine.Zone(9.5, white_percent=50.0), only)

    (mix,) = found.frontier
    assert mix.parts == (("5 violet", 1),)
    assert found.judge.coolest_percent is not None
    assert mix.warmth_left_percent < found.judge.coolest_percent
