"""The state of a client and a line, told by its tests, readings and answers.

Timing (48 h, six months, none under 16) follows the salon's policy, whose defaults come
from one UK trade federation's guidance and one insurer's terms; see salon.models.Policy.
"""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clients.models import Answer, Client, ReadingOutcome, SafetyAnswer
from clients.skin_test.rules import Known, evaluate
from clients.skin_test.state import Code, add_months, patch_state, patch_states
from formulas.models import ProductLine
from salon.models import Policy, Staff
from tests.clients.conftest import DUBLIN, at_clock
from tests.factories.clients import ClientFactory, PatchTestFactory, ReadingFactory
from tests.factories.formulas import LineFactory

HOUR = dt.timedelta(hours=1)
DAY = dt.timedelta(days=1)


@pytest.fixture
def place(client: Client, line: ProductLine, now: dt.datetime):
    """Return a function that places a test some time ago and may read it."""

    def place(ago: dt.timedelta, outcome: str | None = None, after: dt.timedelta = 48 * HOUR):
        test = PatchTestFactory(client=client, line=line, applied_at=now - ago)
        if outcome:
            ReadingFactory(test=test, outcome=outcome, read_at=test.applied_at + after)
        return test

    return place


def answer(client: Client, question: str, at: dt.datetime, by: Staff, said=Answer.YES) -> None:
    SafetyAnswer.objects.create(
        client=client, question=question, answer=said, answered_at=at, answered_by=by
    )


def test_without_a_test_colour_is_possible_in_48_hours_at_the_earliest(
    client: Client, line: ProductLine, now: dt.datetime
) -> None:
    state = patch_state(client=client, line=line, at=now)

    assert state.code is Code.NONE
    assert state.blocks
    assert state.next_possible_at == now + 48 * HOUR


def test_a_fresh_test_waits_until_it_can_be_read(client, line, now, place) -> None:
    test = place(20 * HOUR)

    state = patch_state(client=client, line=line, at=now)

    assert state.code is Code.WAITING
    assert state.readable_at == test.applied_at + 48 * HOUR
    assert state.next_possible_at == state.readable_at


def test_after_48_hours_it_is_ready_to_read_and_still_blocks(client, line, now, place) -> None:
    place(48 * HOUR)

    state = patch_state(client=client, line=line, at=now)

    assert state.code is Code.READY
    assert state.blocks


def test_a_clear_reading_lasts_six_calendar_months_from_the_placing(
    client, line, now, place
) -> None:
    place(3 * DAY, ReadingOutcome.NO_REACTION)

    state = patch_state(client=client, line=line, at=now)

    assert state.code is Code.CLEAR
    assert state.clear_until == at_clock(10, day=dt.date(2026, 9, 8))
    until = state.clear_until
    assert patch_state(client=client, line=line, at=until).code is Code.CLEAR
    assert patch_state(client=client, line=line, at=until + HOUR / 60).code is Code.EXPIRED


def test_a_test_that_is_clear_now_is_expired_for_a_later_start(
    client, line, now, place
) -> None:
    place(170 * DAY, ReadingOutcome.NO_REACTION)

    later = patch_state(client=client, line=line, at=now, starts_at=now + 30 * DAY)

    assert patch_state(client=client, line=line, at=now).code is Code.CLEAR
    assert later.code is Code.EXPIRED


def test_a_reaction_blocks_this_line_and_voids_other_tests(client, line, now, place) -> None:
    other = LineFactory(salon=client.salon)
    ReadingFactory(test=PatchTestFactory(client=client, line=other, applied_at=now - 9 * DAY))
    place(5 * DAY, ReadingOutcome.REACTION)

    reacted = patch_state(client=client, line=line, at=now)

    assert reacted.code is Code.REACTED
    assert reacted.next_possible_at is None
    assert patch_state(client=client, line=other, at=now).code is Code.VOID


def test_a_late_reaction_blocks_from_the_moment_it_is_seen(client, line, now, place) -> None:
    test = place(10 * DAY, ReadingOutcome.NO_REACTION)
    ReadingFactory(
        test=test, outcome=ReadingOutcome.REACTION, read_at=test.applied_at + 6 * DAY
    )

    before = patch_state(client=client, line=line, at=test.applied_at + 5 * DAY)
    after = patch_state(client=client, line=line, at=now)

    assert before.code is Code.CLEAR
    assert after.code is Code.REACTED


def test_a_reaction_long_ago_still_blocks_behind_a_newer_clear_test(
    client, line, now, place
) -> None:
    place(400 * DAY, ReadingOutcome.REACTION)
    place(5 * DAY, ReadingOutcome.NO_REACTION)

    assert patch_state(client=client, line=line, at=now).code is Code.REACTED


def test_not_returned_keeps_the_gate_shut(client, line, now, place) -> None:
    place(5 * DAY, ReadingOutcome.NOT_RETURNED)

    state = patch_state(client=client, line=line, at=now)

    assert state.code is Code.NONE
    assert state.blocks


def test_a_renewal_that_waits_does_not_undo_an_older_clear_test(
    client, line, now, place
) -> None:
    place(60 * DAY, ReadingOutcome.NO_REACTION)
    renewal = place(2 * HOUR)

    state = patch_state(client=client, line=line, at=now)

    assert state.code is Code.CLEAR
    assert state.unread == renewal
    assert "newer test" in state.detail


@pytest.mark.parametrize("question", ["black_henna", "new_allergy", "reaction_since"])
def test_an_answer_since_the_test_makes_it_void(client, line, now, place, question) -> None:
    test = place(30 * DAY, ReadingOutcome.NO_REACTION)
    answer(client, question, now - DAY, test.applied_by)

    state = patch_state(client=client, line=line, at=now)

    assert state.code is Code.VOID
    assert state.since == now - DAY


def test_an_answer_before_the_test_or_a_no_changes_nothing(
    client, line, now, place, stylist
) -> None:
    place(30 * DAY, ReadingOutcome.NO_REACTION)
    answer(client, "black_henna", now - 40 * DAY, stylist)
    answer(client, "new_allergy", now - DAY, stylist, Answer.NO)
    answer(client, "pregnancy", now - DAY, stylist)

    assert patch_state(client=client, line=line, at=now).code is Code.CLEAR


def test_a_new_composition_makes_the_test_void(client, line, now, place) -> None:
    place(30 * DAY, ReadingOutcome.NO_REACTION)
    line.composition_changed_at = now - DAY
    line.save()

    assert patch_state(client=client, line=line, at=now).code is Code.VOID


def test_a_lead_longer_than_the_reading_keeps_it_waiting(
    client, line, now, place, owner
) -> None:
    policy = Policy(salon=client.salon, patch_lead_hours=72, patch_read_hours=48)
    place(50 * HOUR, ReadingOutcome.NO_REACTION)

    state = patch_state(client=client, line=line, at=now, policy=policy)

    assert state.code is Code.WAITING
    assert state.next_possible_at == now + 22 * HOUR


def test_the_lead_counts_to_the_start_and_not_to_the_check_in(client, line, now, place) -> None:
    policy = Policy(salon=client.salon, patch_lead_hours=72, patch_read_hours=24)
    place(72 * HOUR - HOUR / 6, ReadingOutcome.NO_REACTION, after=24 * HOUR)

    early = patch_state(client=client, line=line, at=now, policy=policy)
    for_start = patch_state(
        client=client, line=line, at=now, starts_at=now + HOUR / 6, policy=policy
    )

    assert early.code is Code.WAITING
    assert for_start.code is Code.CLEAR


def test_tests_of_a_merged_entry_count_for_the_person(client, line, now) -> None:
    second = ClientFactory(salon=client.salon, merged_into=client)
    test = PatchTestFactory(client=second, line=line, applied_at=now - 5 * DAY)
    ReadingFactory(test=test, outcome=ReadingOutcome.REACTION)

    assert patch_state(client=client, line=line, at=now).code is Code.REACTED
    assert patch_state(client=second, line=line, at=now).code is Code.REACTED


def test_many_states_ask_no_more_queries_than_one(
    client, line, now, django_assert_num_queries
) -> None:
    pairs = [(client, line)]
    for _ in range(12):
        other = ClientFactory(salon=client.salon)
        PatchTestFactory(client=other, line=line, applied_at=now - DAY)
        pairs.append((other, line))

    # policy, merged entries, tests, readings, answers, reactions
    with django_assert_num_queries(6):
        states = patch_states(pairs, at=now)

    assert len(states) == 13


@pytest.mark.parametrize(
    ("start", "months", "expected"),
    [
        ((2026, 8, 31), 6, (2027, 2, 28)),
        ((2027, 8, 31), 6, (2028, 2, 29)),
        ((2026, 12, 15), 1, (2027, 1, 15)),
    ],
)
def test_months_are_counted_on_the_calendar(start, months, expected) -> None:
    noon = dt.datetime(*start, 12, tzinfo=dt.UTC)

    assert add_months(noon, months) == dt.datetime(*expected, 12, tzinfo=dt.UTC)


def test_months_are_counted_by_the_salons_clocks() -> None:
    """31 August, 00:30 in Dublin is still 30 August in UTC, and summer time ends between."""
    placed = dt.datetime(2026, 8, 31, 0, 30, tzinfo=DUBLIN).astimezone(dt.UTC)

    until = add_months(placed, 6, DUBLIN)

    assert until == dt.datetime(2027, 2, 28, 0, 30, tzinfo=DUBLIN)


@given(
    ages=st.lists(st.integers(0, 500), min_size=0, max_size=5, unique=True),
    outcomes=st.lists(st.sampled_from([None, *ReadingOutcome.values]), min_size=5, max_size=5),
    changed=st.lists(st.integers(0, 500), max_size=2),
)
def test_only_a_clear_and_unspoilt_test_in_time_ever_opens(ages, outcomes, changed) -> None:
    """Whatever happened, colour is open only by a test that meets every rule."""
    now = dt.datetime(2026, 3, 11, 10, tzinfo=dt.UTC)
    policy = Policy(salon_id=1)
    tests = []
    for number, (age, outcome) in enumerate(zip(sorted(ages), outcomes, strict=False)):
        test = PatchTestFactory.build(
            pk=number + 1, client=None, line=None, applied_by=None, applied_at=now - age * DAY
        )
        readings = []
        if outcome and age >= 2:
            readings = [
                ReadingFactory.build(
                    test=test, outcome=outcome, read_at=now - age * DAY + 2 * DAY, read_by=None
                )
            ]
        tests.append((test, readings))
    moments = [now - days * DAY for days in changed]

    state = evaluate(Known(tests, moments, now, now, DUBLIN), policy)

    has = {o for _t, rs in tests for o in (r.outcome for r in rs)}
    if ReadingOutcome.REACTION in has:
        assert state.code is Code.REACTED
    if state.code is Code.CLEAR:
        assert state.test is not None
        assert now - state.test.applied_at >= 48 * HOUR
        assert now <= add_months(state.test.applied_at, 6, DUBLIN)
        assert all(moment <= state.test.applied_at for moment in moments)
    else:
        assert state.blocks
