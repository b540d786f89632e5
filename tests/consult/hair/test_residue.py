"""What of the last toner is counted as still on the hair, and where."""

import datetime as dt

import pytest

from consult.hair import residue
from consult.models import Visit
from consult.selectors import facts_in_force, groups_of, readings_in_force
from consult.services import read_hair
from salon.models import Salon, Staff
from tests.factories.consult import Story, head, opened


@pytest.fixture
def again(salon: Salon, stylist: Staff, now: dt.datetime) -> Story:
    """The client's second visit, eight weeks after a toner on every zone."""
    opened(salon, stylist=stylist, at=now - dt.timedelta(weeks=8)).to_end()
    story = opened(salon, stylist=stylist, at=now)
    story.answer()
    return story


def _read(story: Story, *, washes: int | None) -> Visit:
    facts = {} if washes is None else {"washes_since_toner": washes}
    read_hair(visit=story.visit, readings=head(), facts=facts, by=story.by, at=story.later())
    return story.visit


def test_the_last_toner_is_counted_on_lengths_and_ends_and_not_on_regrowth(
    again: Story,
) -> None:
    visit = _read(again, washes=10)

    left = residue.of_last_visit(visit, at=again.at)

    assert set(left) == {"mid_lengths", "ends"}
    assert all(toner.washes == 10 and toner.parts for toner in left.values())


def test_roots_are_a_group_of_their_own_where_toner_is_left_on_the_lengths(
    again: Story,
) -> None:
    visit = _read(again, washes=10)

    groups = groups_of(readings_in_force(visit), facts_in_force(visit))

    assert groups == ["roots", "mid_lengths,ends"]


def test_without_a_number_of_washes_nothing_is_counted(again: Story) -> None:
    visit = _read(again, washes=None)

    assert residue.of_last_visit(visit, at=again.at) == {}
    assert len(groups_of(readings_in_force(visit), facts_in_force(visit))) == 1
