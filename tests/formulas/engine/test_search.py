"""The search against `predict`, brute force and its own order."""

import itertools
import random
from dataclasses import replace
from math import gcd

import numpy as np
import pytest

from formulas import engine
from formulas.engine.limit import CAST_TOLERANCE
from formulas.engine.search import MixSpace, primitive_patterns

LINE = engine.demo_lines()["Tidepool"]
SMALL = replace(LINE, shades=LINE.shades[20:29])
ZONE = engine.Zone(7.5)


def _brute_force(line: engine.Line) -> list[dict[str, int]]:
    """Every primitive mix, written as plainly as can be."""
    mixes = []
    for count in (1, 2, 3):
        for names in itertools.combinations(sorted(line.names), count):
            for parts in itertools.product(range(1, 7), repeat=count):
                if sum(parts) <= 6 and gcd(*parts) == 1:
                    mixes.append(dict(zip(names, parts, strict=True)))
    return mixes


def test_sixty_shades_make_669710_mixes() -> None:
    assert MixSpace(60, max_shades=3, max_parts=6).size == 669_710


def test_space_numbers_every_mix_once() -> None:
    space = MixSpace(6, max_shades=3, max_parts=6)

    decoded = {space.decode(row) for row in range(space.size)}

    assert len(decoded) == space.size
    assert all(gcd(*(parts for _, parts in mix)) == 1 for mix in decoded)


def test_patterns_of_three_in_six_parts() -> None:
    # 20 ordered splits of 3 to 6 parts, less 2:2:2.
    assert len(primitive_patterns(3, 6)) == 19


def test_search_reads_as_predict_does() -> None:
    result = engine.search(ZONE, SMALL)
    rows = random.Random(7).sample(range(result.space.size), 60)  # noqa: S311

    for row, candidate in zip(rows, result.read(np.array(rows)), strict=True):
        prediction = engine.predict(ZONE, SMALL, dict(candidate.parts))

        assert candidate.warmth_left_percent == pytest.approx(
            prediction.warmth_left_percent.value, abs=1e-6
        )
        assert candidate.levels_deeper_looks == pytest.approx(
            prediction.levels_deeper_looks.value, abs=1e-9
        )
        if abs(candidate.cast) < CAST_TOLERANCE - 0.01:
            assert result.warmth[row] == pytest.approx(candidate.warmth_left_percent, abs=0.1)


def test_frontier_is_that_of_brute_force() -> None:
    result = engine.search(ZONE, SMALL)
    read = [(mix, engine.predict(ZONE, SMALL, mix)) for mix in _brute_force(SMALL)]
    inside = [
        (p.warmth_left_percent.value, p.levels_deeper_looks.value)
        for _, p in read
        if abs(p.cast) <= CAST_TOLERANCE
    ]
    best = [
        (w, d)
        for w, d in inside
        if not any(
            (w2 <= w and d2 < d - 1e-9) or (w2 < w - 1e-9 and d2 <= d) for w2, d2 in inside
        )
    ]

    found = [(c.warmth_left_percent, c.levels_deeper_looks) for c in result.frontier]

    assert len(read) == result.evaluated
    assert sorted({(round(w, 6), round(d, 6)) for w, d in best}) == sorted(
        (round(w, 6), round(d, 6)) for w, d in found
    )


def test_along_the_frontier_depth_never_falls_while_warmth_falls() -> None:
    """Common practice, no source: the cooler the result, the deeper it looks."""
    for level in (5, 6.5, 7.5, 9, 10):
        frontier = engine.search(engine.Zone(level), LINE).frontier

        warmth = [c.warmth_left_percent for c in frontier]
        deeper = [c.levels_deeper_looks for c in frontier]
        assert warmth == sorted(warmth, reverse=True)
        assert deeper == sorted(deeper)


def test_shuffled_shades_give_the_same_answer() -> None:
    shuffled = list(SMALL.shades)
    random.Random(3).shuffle(shuffled)  # noqa: S311

    one = engine.search(ZONE, SMALL)
    other = engine.search(ZONE, replace(SMALL, shades=tuple(shuffled)))

    assert [c.parts for c in one.frontier] == [c.parts for c in other.frontier]
    assert [r.candidate.parts for r in one.rank([40.0])[0]] == [
        r.candidate.parts for r in other.rank([40.0])[0]
    ]


def test_no_mix_asks_for_more_than_the_stock_holds() -> None:
    stock = {name: 4.0 + 3.0 * n for n, name in enumerate(SMALL.names)}

    result = engine.search(ZONE, SMALL, grams_in_stock=stock, bowl_grams=60)

    for candidate in result.frontier:
        whole = sum(parts for _, parts in candidate.parts)
        for name, parts in candidate.parts:
            assert 24.0 * parts / whole <= stock[name] + 1e-6


def test_an_empty_stock_says_what_a_bowl_needs() -> None:
    with pytest.raises(ValueError, match=r"grams_in_stock \[g\]"):
        engine.search(ZONE, SMALL, grams_in_stock={})


def test_a_line_of_clear_alone_changes_nothing() -> None:
    line = replace(LINE, shades=(LINE.shade("clear"),))

    result = engine.search(ZONE, line)

    assert [c.parts for c in result.frontier] == [(("clear", 1),)]
    assert result.frontier[0].warmth_left_percent == pytest.approx(100)


def test_places_run_from_bright_to_cool() -> None:
    places = engine.places(engine.search(ZONE, LINE))

    assert (
        places.bright.warmth_left_percent
        > places.between.warmth_left_percent
        > places.cool.warmth_left_percent
    )
    assert places.bright.levels_deeper_looks < places.cool.levels_deeper_looks


def test_ranking_puts_the_nearest_first_and_gives_reasons() -> None:
    (ranked,) = engine.search(ZONE, LINE).rank([40.0], k=5)

    assert len(ranked) == 5
    assert all(one.distance_percent < 2.0 for one in ranked)
    assert all(one.reasons for one in ranked)


@pytest.mark.parametrize(
    ("argument", "value"),
    [("max_shades", 0), ("max_shades", 9), ("max_parts", 1.5), ("bowl_grams", float("nan"))],
)
def test_bad_numbers_are_named(argument: str, value: float) -> None:
    with pytest.raises(ValueError, match=argument):
        engine.search(ZONE, SMALL, **{argument: value})
