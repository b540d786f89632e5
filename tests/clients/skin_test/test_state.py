"""The state of a client and a line, told by its tests, readings and answers.

Timing (48 h, six months, none under 16) follows the salon's policy, whose defaults come
from one UK trade federation's guidance and one insurer's terms; see salon.models.Policy.
"""

import datetime as dt

import pytest

from clients.models import Answer, Client, PatchTest, ReadingOutcome, SafetyAnswer
from clients.skin_test.state import Code, patch_state
from formulas.models import ProductLine
from salon.models import Policy, Staff
from tests.clients.conftest import at_clock
from tests.factories.clients import PatchTestFactory, ReadingFactory
from tests.factories.formulas import LineFactory
from tests.typed import Placer

HOUR = dt.timedelta(hours=1)
DAY = dt.timedelta(days=1)


@pytest.fixture
def place(person: Client, line: ProductLine, now: dt.datetime) -> Placer:
    """Return a function that places a test some time ago and may read it."""

    def place(
        ago: dt.timedelta, outcome: str | None = None, after: dt.timedelta = 48 * HOUR
    ) -> PatchTest:
        test = PatchTestFactory(client=person, line=line, applied_at=now - ago)
        if outcome:
            ReadingFactory(test=test, outcome=outcome, read_at=test.applied_at + after)
        return test

    return place


def answer(
    client: Client, question: str, at: dt.datetime, by: Staff, said: str = Answer.YES
) -> None:
    SafetyAnswer.objects.create(
        client=client, question=question, answer=said, answered_at=at, answered_by=by
    )


def test_without_a_test_colour_is_possible_in_48_hours_at_the_earliest(
    person: Client, line: ProductLine, now: dt.datetime
) -> None:
    state = patch_state(client=person, line=line, at=now)

    assert state.code is Code.NONE
    assert state.blocks
    assert state.next_possible_at == now + 48 * HOUR


def test_a_fresh_test_waits_until_it_can_be_read(
    person: Client, line: ProductLine, now: dt.datetime, place: Placer
) -> None:
    test = place(20 * HOUR)

    state = patch_state(client=person, line=line, at=now)

    assert state.code is Code.WAITING
    assert state.readable_at == test.applied_at + 48 * HOUR
    assert state.next_possible_at == state.readable_at


def test_a_test_under_way_is_too_late_for_a_start_before_it_can_be_read(
    person: Client, line: ProductLine, now: dt.datetime, place: Placer
) -> None:
    place(20 * HOUR)

    def for_start(hours: int) -> bool:
        start = now + hours * HOUR
        return patch_state(client=person, line=line, at=now, starts_at=start).comes_too_late

    assert for_start(27)
    assert not for_start(28)


def test_after_a_reaction_or_a_clear_test_no_start_is_too_early(
    person: Client, line: ProductLine, now: dt.datetime, place: Placer
) -> None:
    """One of them never opens, the other is open: waiting helps neither."""
    place(5 * DAY, ReadingOutcome.NO_REACTION)
    clear = patch_state(client=person, line=line, at=now)
    place(4 * DAY, ReadingOutcome.REACTION)
    reacted = patch_state(client=person, line=line, at=now)

    assert (clear.code, clear.comes_too_late) == (Code.CLEAR, False)
    assert (reacted.code, reacted.comes_too_late) == (Code.REACTED, False)


def test_after_48_hours_it_is_ready_to_read_and_still_blocks(
    person: Client, line: ProductLine, now: dt.datetime, place: Placer
) -> None:
    place(48 * HOUR)

    state = patch_state(client=person, line=line, at=now)

    assert state.code is Code.READY
    assert state.blocks


def test_a_clear_reading_lasts_six_calendar_months_from_the_placing(
    person: Client, line: ProductLine, now: dt.datetime, place: Placer
) -> None:
    place(3 * DAY, ReadingOutcome.NO_REACTION)

    state = patch_state(client=person, line=line, at=now)

    assert state.code is Code.CLEAR
    assert state.clear_until == at_clock(10, day=dt.date(2026, 9, 8))
    until = state.clear_until
    assert patch_state(client=person, line=line, at=until).code is Code.CLEAR
    assert patch_state(client=person, line=line, at=until + HOUR / 60).code is Code.EXPIRED


def test_a_test_that_is_clear_now_is_expired_for_a_later_start(
    person: Client, line: ProductLine, now: dt.datetime, place: Placer
) -> None:
    place(170 * DAY, ReadingOutcome.NO_REACTION)

    later = patch_state(client=person, line=line, at=now, starts_at=now + 30 * DAY)

    assert patch_state(client=person, line=line, at=now).code is Code.CLEAR
    assert later.code is Code.EXPIRED


def test_a_reaction_blocks_this_line_and_voids_other_tests(
    person: Client, line: ProductLine, now: dt.datetime, place: Placer
) -> None:
    other = LineFactory(salon=person.salon)
    ReadingFactory(test=PatchTestFactory(client=person, line=other, applied_at=now - 9 * DAY))
    place(5 * DAY, ReadingOutcome.REACTION)

    reacted = patch_state(client=person, line=line, at=now)

    assert reacted.code is Code.REACTED
    assert reacted.next_possible_at is None
    assert patch_state(client=person, line=other, at=now).code is Code.VOID


def test_a_late_reaction_blocks_from_the_moment_it_is_seen(
    person: Client, line: ProductLine, now: dt.datetime, place: Placer
) -> None:
    test = place(10 * DAY, ReadingOutcome.NO_REACTION)
    ReadingFactory(
        test=test, outcome=ReadingOutcome.REACTION, read_at=test.applied_at + 6 * DAY
    )

    before = patch_state(client=person, line=line, at=test.applied_at + 5 * DAY)
    after = patch_state(client=person, line=line, at=now)

    assert before.code is Code.CLEAR
    assert after.code is Code.REACTED


def test_a_reaction_long_ago_still_blocks_behind_a_newer_clear_test(
    person: Client, line: ProductLine, now: dt.datetime, place: Placer
) -> None:
    place(400 * DAY, ReadingOutcome.REACTION)
    place(5 * DAY, ReadingOutcome.NO_REACTION)

    assert patch_state(client=person, line=line, at=now).code is Code.REACTED


def test_not_returned_keeps_the_gate_shut(
    person: Client, line: ProductLine, now: dt.datetime, place: Placer
) -> None:
    place(5 * DAY, ReadingOutcome.NOT_RETURNED)

    state = patch_state(client=person, line=line, at=now)

    assert state.code is Code.NONE
    assert state.blocks


def test_a_renewal_that_waits_does_not_undo_an_older_clear_test(
    person: Client, line: ProductLine, now: dt.datetime, place: Placer
) -> None:
    place(60 * DAY, ReadingOutcome.NO_REACTION)
    renewal = place(2 * HOUR)

    state = patch_state(client=person, line=line, at=now)

    assert state.code is Code.CLEAR
    assert state.unread == renewal
    assert "newer test" in state.detail


@pytest.mark.parametrize("question", ["black_henna", "new_allergy", "reaction_since"])
def test_an_answer_since_the_test_makes_it_void(
    person: Client, line: ProductLine, now: dt.datetime, place: Placer, question: str
) -> None:
    test = place(30 * DAY, ReadingOutcome.NO_REACTION)
    answer(person, question, now - DAY, test.applied_by)

    state = patch_state(client=person, line=line, at=now)

    assert state.code is Code.VOID
    assert state.since == now - DAY


def test_an_answer_before_a_renewal_makes_the_older_test_void_all_the_same(
    person: Client, line: ProductLine, now: dt.datetime, place: Placer
) -> None:
    older = place(100 * DAY, ReadingOutcome.NO_REACTION)
    answer(person, "new_allergy", now - 99 * DAY, older.applied_by)
    renewal = place(20 * HOUR)

    state = patch_state(client=person, line=line, at=now)

    assert (state.code, state.test) == (Code.WAITING, renewal)


def test_an_answer_before_the_test_or_a_no_changes_nothing(
    person: Client, line: ProductLine, now: dt.datetime, place: Placer, stylist: Staff
) -> None:
    place(30 * DAY, ReadingOutcome.NO_REACTION)
    answer(person, "black_henna", now - 40 * DAY, stylist)
    answer(person, "new_allergy", now - DAY, stylist, Answer.NO)
    answer(person, "pregnancy", now - DAY, stylist)

    assert patch_state(client=person, line=line, at=now).code is Code.CLEAR


def test_a_new_composition_makes_the_test_void(
    person: Client, line: ProductLine, now: dt.datetime, place: Placer
) -> None:
    place(30 * DAY, ReadingOutcome.NO_REACTION)
    line.composition_changed_at = now - DAY
    line.save()

    assert patch_state(client=person, line=line, at=now).code is Code.VOID


def test_a_lead_longer_than_the_reading_keeps_it_waiting(
    person: Client, line: ProductLine, now: dt.datetime, place: Placer, owner: Staff
) -> None:
    policy = Policy(salon=person.salon, patch_lead_hours=72, patch_read_hours=48)
    place(50 * HOUR, ReadingOutcome.NO_REACTION)

    state = patch_state(client=person, line=line, at=now, policy=policy)

    assert state.code is Code.WAITING
    assert state.next_possible_at == now + 22 * HOUR


def test_the_lead_counts_to_the_start_and_not_to_the_check_in(
    person: Client, line: ProductLine, now: dt.datetime, place: Placer
) -> None:
    policy = Policy(salon=person.salon, patch_lead_hours=72, patch_read_hours=24)
    place(72 * HOUR - HOUR / 6, ReadingOutcome.NO_REACTION, after=24 * HOUR)

    early = patch_state(client=person, line=line, at=now, policy=policy)
    for_start = patch_state(
        client=person, line=line, at=now, starts_at=now + HOUR / 6, policy=policy
    )

    assert early.code is Code.WAITING
    assert for_start.code is Code.CLEAR
