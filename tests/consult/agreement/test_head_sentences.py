"""What a client reads of a place of the whole head: each sentence at the number it begins with.

The steps of warmth and depth are the product's own (common practice, no source).
"""

from typing import Any

import pytest

from consult.agreement import statement, whole_head
from consult.agreement.whole_head import HeadPlan
from formulas.head_suggestion import HeadPlace


def _place(
    *, warmth: float = 40.0, deeper: dict[str, float] | None = None, **changes: Any
) -> HeadPlace:
    each = deeper or {"roots": 1.0}
    mixes: Any = {
        key: {"warmth_left_percent": warmth, "levels_deeper_looks": levels}
        for key, levels in each.items()
    }
    values: dict[str, Any] = {
        "key": "",
        "warmth_left_percent": warmth,
        "levels_deeper_looks": sum(each.values()) / len(each),
        "largest_difference": 1.0,
        "is_even": True,
        "held_by": None,
        "bowls": [list(each)],
        "zones": mixes,
    }
    return HeadPlace(**{**values, **changes})


def _plan(*places: HeadPlace, wanted: float | None = None, little: bool = False) -> HeadPlan:
    start: Any = {
        key: {"warmth_percent": 100.0, "looks_level": 8.0, "shows_little_warmth": little}
        for key in places[0].zones
    }
    return HeadPlan(list(places), start, wanted)


@pytest.mark.parametrize(
    ("percent", "words"),
    [
        (130.0, "It looks warmer than before."),
        (105.0, "It looks warmer than before."),
        (104.9, "Nearly all of the warmth is left."),
        (85.0, "Nearly all of the warmth is left."),
        (84.9, "Most of the warmth is left."),
        (60.0, "Most of the warmth is left."),
        (59.9, "About half of the warmth is left."),
        (39.9, "A little of the warmth is left."),
        (19.9, "Hardly any warmth is left."),
        (7.9, "No warmth is left: it looks as neutral as natural hair."),
        (-30.0, "No warmth is left: it looks slightly ashy."),
    ],
)
def test_the_warmth_that_stays_is_said_without_a_number(percent: float, words: str) -> None:
    place = _place(warmth=percent)

    assert whole_head.warmth_sentence(_plan(place), place) == words


def test_hair_that_shows_little_warmth_is_not_measured_by_it() -> None:
    place = _place(warmth=40.0)

    said = whole_head.warmth_sentence(_plan(place, little=True), place)

    assert said.startswith("It looks ")
    assert "left" not in said


@pytest.mark.parametrize(
    ("levels", "words"),
    [
        (-0.3, "as light as now"),
        (0.2, "as light as now"),
        (0.5, "about half a level deeper"),
        (1.1, "about one level deeper"),
        (1.5, "about one and a half levels deeper"),
        (2.0, "about two levels deeper"),
        (2.6, "about two and a half levels deeper"),
        (3.1, "about three levels deeper"),
        (3.5, "more than three levels deeper"),
        (6.0, "more than three levels deeper"),
    ],
)
def test_the_depth_is_said_in_half_levels(levels: float, words: str) -> None:
    place = _place(deeper={"roots": levels})

    assert words in whole_head.depth_words(_plan(place), place)


def test_the_part_that_changes_most_is_named() -> None:
    place = _place(deeper={"roots": 0.8, "mid_lengths,ends": 2.2})
    alike = _place(deeper={"roots": 1.0, "mid_lengths,ends": 1.1})

    said = whole_head.depth_words(_plan(place), place)

    assert "one and a half levels" in said
    assert "mid-lengths" in said
    assert "change most" not in whole_head.depth_words(_plan(alike), alike)


@pytest.mark.parametrize(
    ("deeper", "words"),
    [
        (2.0, "as you wished"),
        (1.6, "as you wished"),
        (1.0, "With these shades it gets only as dark as natural"),
        (3.0, "it gets darker than you wished"),
    ],
)
def test_a_wished_depth_is_said_beside_what_is_reached(deeper: float, words: str) -> None:
    """Hair that looks like level 8, wished as dark as level 6."""
    place = _place(deeper={"roots": deeper})

    assert words in whole_head.depth_words(_plan(place, wanted=6.0), place)


def test_what_cannot_be_had_is_the_nearest_bound() -> None:
    free, held, last = _place(), _place(held_by="roots"), _place(warmth=-5.0)
    uneven = _place(is_even=False)
    plan = _plan(free, held, uneven, last)

    assert "stay lighter" in whole_head.limit_words(plan, free)
    assert "roots go no lighter" in whole_head.limit_words(plan, held)
    assert "quite the same" in whole_head.limit_words(plan, uneven)
    assert "cannot get cooler" in whole_head.limit_words(plan, last)
    wished = _plan(free, wanted=6.0)
    assert "lighter again afterwards" in whole_head.limit_words(wished, free)


def test_the_balanced_place_is_shown_first_and_else_the_middle_one() -> None:
    named = [_place(key=key, warmth=n) for n, key in ((60.0, "warm"), (40.0, "balanced"))]
    plain = [_place(warmth=n) for n in (80.0, 50.0, 20.0)]

    assert _plan(*plain, *named).middle is named[1]
    assert _plan(*plain).middle is plain[1]


@pytest.mark.parametrize(
    ("difference", "words"),
    [(2.4, ""), (3.0, "may look slightly different"), (5.1, "the parts will look different")],
)
def test_parts_unlike_each_other_are_named_before_they_are_signed(
    difference: float, words: str
) -> None:
    said = statement.unlike(difference)

    assert words in said
    assert bool(said) == bool(words)


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (45.0, "of the warmth you see now is left"),
        (4.0, "Hardly any of the warmth you see now is left"),
        (-12.0, "the hair looks slightly ashy"),
    ],
)
def test_a_statement_says_the_warmth_with_its_range(value: float, words: str) -> None:
    predicted: Any = {
        "warmth_left_percent": {"value": value, "low": value - 10, "high": value + 10},
        "level": {"value": 7.0, "low": 6.6, "high": 7.4},
        "levels_deeper_looks": {"value": 1.0, "low": 0.6, "high": 1.4},
        "damp_levels_deeper": {"value": 1.2, "low": 1.0, "high": 1.4},
    }

    said = statement.values_of(key="roots", lifted_level=8.0, predicted=predicted)

    assert words in said["warmth_words"]
    assert "likely" in said["warmth_words"]


def test_hair_with_little_warmth_is_told_in_words() -> None:
    predicted: Any = {
        "warmth_left_percent": {"value": 30.0, "low": 20.0, "high": 40.0},
        "level": {"value": 7.0, "low": 6.6, "high": 7.4},
        "levels_deeper_looks": {"value": 1.0, "low": 0.6, "high": 1.4},
        "damp_levels_deeper": {"value": 1.2, "low": 1.0, "high": 1.4},
        "start_warmth_percent": 60.0,
        "shows_little_warmth": True,
    }

    said = statement.values_of(key="roots", lifted_level=8.0, predicted=predicted)

    assert said["warmth_words"].startswith("The hair will look ")
    assert "you see now" not in said["warmth_words"]
