"""What is signed adds up, names a lean and parts that end unlike each other."""

import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from consult.agreement import statement, wordings
from consult.history import histories
from consult.models import StatementWording
from formulas.snapshots import Outlook
from tests.factories.consult import Story, zone
from tests.factories.formulas import exactly


def _predicted(deeper: float, cast: float = 0.0, *, level: float = 7.0) -> Outlook:
    return {
        "level": exactly(level),
        "warmth_left_percent": {"value": 40.0, "low": 28.0, "high": 52.0},
        "levels_deeper_looks": {"value": deeper, "low": deeper - 0.4, "high": deeper + 0.4},
        "damp_levels_deeper": exactly(1.2),
        "cast": cast,
    }


@given(
    lifted=st.integers(10, 20).map(lambda half: half / 2),
    deeper=st.floats(0, 3.9, allow_nan=False),
    level=st.floats(1, 10, allow_nan=False),
)
def test_now_less_deeper_is_the_result(lifted: float, deeper: float, level: float) -> None:
    predicted = _predicted(deeper, level=level)
    values = statement.values_of(key="roots", lifted_level=lifted, predicted=predicted)

    now = Decimal(re.findall(r"\d+\.\d", values["lifted_words"])[-1])
    less, after = (Decimal(values[name]) for name in ("deeper", "level"))
    assert after == max(now - less, 1)
    # Never further from what is predicted, and judged at the end, than an eye reads.
    assert abs(float(after) - level) <= 0.5 + 0.051


def test_hair_that_looks_like_its_lifted_level_gets_one_level() -> None:
    text = wordings.statement_for(
        None, key="roots", lifted_level=8.0, predicted=_predicted(1.0, level=7.3)
    )

    assert text.startswith("Roots: lifted to level 8.0. ")
    assert "as dark as natural hair at level 7.0." in text


def test_white_hair_is_signed_for_as_dark_as_it_will_look(story: Story) -> None:
    """60 % white that was lifted to 8 looks two levels lighter than that."""
    white = zone(lifted_level=Decimal(8), white_percent=60)
    story.answer().read(roots=white, mid_lengths=white, ends=white)
    place = story.choose(30).places.get()

    named = re.search(r"at level (\d+\.\d)\.", place.statement)
    now = re.search(r"level 8\.0, it looks like level (\d+\.\d) now\.", place.statement)
    assert named
    assert now
    assert float(named[1]) == pytest.approx(place.predicted["level"]["value"], abs=0.051)
    assert float(now[1]) > 9.0


@pytest.mark.parametrize(
    ("own", "said"),
    [
        ("{zones}, {lifted}: {deeper} deeper, so {level}.", True),
        ("{zones}: {deeper} deeper, so {level}.", True),
        ("{zones}, {lifted_words}: {deeper} deeper, so {level}.", False),
        ("{zones}: {deeper} deeper.", False),
    ],
)
def test_own_words_on_white_hair_add_up_too(own: str, said: bool) -> None:
    looks_white, looks_lifted = (
        wordings.statement_for(
            StatementWording(statement=own), key="roots", lifted_level=8.0, predicted=predicted
        )
        for predicted in (_predicted(1.0, level=9.0), _predicted(1.0, level=7.0))
    )

    assert ("Before the toner it looks like level 10.0." in looks_white) == said
    assert "Before the toner" not in looks_lifted


@pytest.mark.parametrize(
    ("cast", "words"),
    [
        (0.0, ""),
        (3.0, "It may lean slightly towards green."),
        (6.0, "It will lean towards green."),
        (-3.0, "It may lean slightly towards violet."),
        (-6.0, "It will lean towards violet."),
    ],
)
def test_a_lean_is_part_of_the_statement(cast: float, words: str) -> None:
    assert statement.lean(_predicted(1.0, cast)) == words


def test_the_lean_ends_the_very_text_that_is_signed() -> None:
    text = wordings.statement_for(
        None, key="roots", lifted_level=8.0, predicted=_predicted(1.0, 6.0)
    )

    assert text.endswith("It will lean towards green.")


def test_parts_more_than_half_a_level_apart_are_named() -> None:
    assert statement.apart({"roots": 7.0, "ends": 6.5}) == ""
    assert statement.apart({"roots": 6.2, "mid_lengths,ends": 7.4}) == (
        "The parts of the hair will not be equally light: "
        "roots level 6.2, mid-lengths and ends level 7.4."
    )


def test_every_statement_of_a_head_says_that_its_parts_differ(story: Story) -> None:
    story.answer().read(
        roots=zone(lifted_level=Decimal("6.0")), ends=zone(lifted_level=Decimal("9.0"))
    )
    places = list(story.choose(60).places.all())

    pattern = r"as dark as natural hair at level (\d+\.\d)"
    levels = [re.findall(pattern, one.statement) for one in places]
    assert len({level for found in levels for level in found}) > 1
    assert all("not be equally light" in one.statement for one in places)


def test_the_record_quotes_what_was_signed(story: Story) -> None:
    story.to_bench().process(minutes=2).see().close()

    group = histories.record_of(story.visit).groups[0]

    assert group.promised == story.visit.choices.get().places.get().predicted
    assert group.predicted != group.promised  # two minutes are no twenty
