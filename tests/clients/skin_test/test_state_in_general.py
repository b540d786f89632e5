"""What holds of a test's state for every person, calendar and sequence of events."""

import datetime as dt
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest_django import DjangoAssertNumQueries

from clients.models import Client, ReadingOutcome, SafetyAnswer
from clients.skin_test import state as skin_test_state
from clients.skin_test.rules import Known, evaluate
from clients.skin_test.safety import VOIDING
from clients.skin_test.state import Code, add_months, patch_state, patch_states
from formulas.models import ProductLine
from salon.models import Policy
from tests.clients.conftest import DUBLIN
from tests.clients.skin_test.test_state import DAY, HOUR
from tests.factories.clients import ClientFactory, PatchTestFactory, ReadingFactory
from tests.factories.formulas import LineFactory
from tests.factories.salon import StaffFactory


def test_tests_of_a_merged_entry_count_for_the_person(
    person: Client, line: ProductLine, now: dt.datetime
) -> None:
    second = ClientFactory(salon=person.salon, merged_into=person)
    test = PatchTestFactory(client=second, line=line, applied_at=now - 5 * DAY)
    ReadingFactory(test=test, outcome=ReadingOutcome.REACTION)

    assert patch_state(client=person, line=line, at=now).code is Code.REACTED
    assert patch_state(client=second, line=line, at=now).code is Code.REACTED


def test_many_states_ask_no_more_queries_than_one(
    person: Client, line: ProductLine, now: dt.datetime,
    django_assert_num_queries: DjangoAssertNumQueries
) -> None:  # fmt: skip
    pairs = [(person, line)]
    for _ in range(12):
        other = ClientFactory(salon=person.salon)
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
def test_months_are_counted_on_the_calendar(
    start: tuple[int, int, int], months: int, expected: tuple[int, int, int]
) -> None:
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
def test_only_a_clear_and_unspoilt_test_in_time_ever_opens(
    ages: list[int], outcomes: list[str | None], changed: list[int]
) -> None:
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


@pytest.mark.parametrize("seed", range(12))
def test_no_answer_that_is_left_unread_would_change_a_state(
    person: Client, line: ProductLine, now: dt.datetime, seed: int,
    monkeypatch: pytest.MonkeyPatch
) -> None:  # fmt: skip
    """Of years of answers only the last months are read, and nothing is lost by it."""
    by, dice = StaffFactory(salon=person.salon), Random(seed)  # noqa: S311  a story, no secret
    lines: list[ProductLine] = [line, LineFactory(salon=person.salon)]
    clients: list[Client] = [person, ClientFactory(salon=person.salon)]
    for client in clients:
        for _ in range(dice.randint(0, 6)):
            applied_at = now - dice.randint(1, dice.choice([180, 900])) * DAY
            test = PatchTestFactory(
                client=client, line=dice.choice(lines), applied_at=applied_at
            )
            if dice.random() < 0.8:
                ReadingFactory(test=test, outcome=dice.choice(["no_reaction", "not_returned"]))
        for _ in range(dice.randint(0, 4)):
            SafetyAnswer.objects.create(
                client=client, question=dice.choice(sorted(VOIDING)),
                answer=dice.choice(["yes", "no"]),
                answered_at=now - dice.randint(1, dice.choice([180, 900])) * DAY,
                answered_by=by,
            )  # fmt: skip
    pairs = [(client, one) for client in clients for one in lines]
    moments = [now - days * DAY for days in (0, 1, 30, 150, 186, 200, 400)]

    found = [patch_states(pairs, at=at) for at in moments]

    monkeypatch.setattr(skin_test_state, "_earliest_to_void", lambda *_: now - 2000 * DAY)
    assert found == [patch_states(pairs, at=at) for at in moments]
