"""The proposed next visit keeps to between three and fourteen weeks (model assumption)."""

import datetime as dt

import pytest

from consult.bench import starting_values
from salon.models import Salon, Staff
from tests.factories.consult import opened


@pytest.mark.parametrize(("every", "weeks"), [(1, 3), (6, 6), (17, 14)])
def test_a_clients_own_rhythm_is_kept_within_three_and_fourteen_weeks(
    salon: Salon, stylist: Staff, now: dt.datetime, every: int, weeks: int
) -> None:
    for visits_ago in (2, 1):
        opened(salon, stylist=stylist, at=now - dt.timedelta(weeks=every * visits_ago)).to_end()
    story = opened(salon, stylist=stylist, at=now)
    story.answer().read()

    proposed = starting_values.next_visit(story.visit, at=story.at)

    assert proposed.from_own_visits
    assert proposed.weeks == weeks
