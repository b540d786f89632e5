"""The gate: the one answer to whether colour may start."""

import datetime as dt

import pytest
from django.core.exceptions import PermissionDenied

from clients.models import (
    Answer,
    Appointment,
    Client,
    PatchOverride,
    PatchTestReading,
    ReadingOutcome,
    Service,
    Status,
)
from clients.services import (
    CheckInRefused,
    OverrideRefused,
    answer_safety_questions,
    check_in,
    record_override,
    undo_check_in,
)
from clients.skin_test.gate import colour_gate
from formulas.models import ProductLine
from salon.append_only import AppendOnlyError
from salon.models import AuditEvent, Staff
from tests.factories.clients import AppointmentFactory, PatchTestFactory, ReadingFactory
from tests.typed import present

DAY = dt.timedelta(days=1)


@pytest.fixture
def booked(person: Client, line: ProductLine, tone: Service, now: dt.datetime) -> Appointment:
    """A tone an hour from now."""
    return AppointmentFactory(
        client=person, service=tone, line=line, starts_at=now + dt.timedelta(hours=1)
    )


@pytest.fixture
def clear(person: Client, line: ProductLine, now: dt.datetime) -> PatchTestReading:
    test = PatchTestFactory(client=person, line=line, applied_at=now - 5 * DAY)
    return ReadingFactory(test=test)


def test_without_a_test_check_in_is_refused_with_reason_and_next_time(
    booked: Appointment, receptionist: Staff, now: dt.datetime
) -> None:
    with pytest.raises(CheckInRefused, match="No patch test") as refusal:
        check_in(appointment=booked, by=receptionist, at=now)

    assert present(refusal.value.gate).next_possible_at == now + 2 * DAY
    booked.refresh_from_db()
    assert booked.status == Status.BOOKED


def test_with_a_clear_test_the_client_is_checked_in(
    booked: Appointment, clear: PatchTestReading, receptionist: Staff, now: dt.datetime
) -> None:
    check_in(appointment=booked, by=receptionist, at=now)

    assert booked.status == Status.CHECKED_IN
    assert booked.events.get().recorded_by == receptionist
    assert AuditEvent.objects.get().kind == "appointment checked_in"


def test_a_second_check_in_says_that_it_is_done(
    booked: Appointment, clear: PatchTestReading, receptionist: Staff, now: dt.datetime
) -> None:
    check_in(appointment=booked, by=receptionist, at=now)

    with pytest.raises(CheckInRefused, match="already checked in"):
        check_in(appointment=booked, by=receptionist, at=now)


def test_nobody_is_checked_in_on_another_day(
    booked: Appointment, clear: PatchTestReading, receptionist: Staff, now: dt.datetime
) -> None:
    with pytest.raises(CheckInRefused, match="another day"):
        check_in(appointment=booked, by=receptionist, at=now - DAY)


def test_a_cut_needs_no_patch_test(
    person: Client, cut: Service, receptionist: Staff, now: dt.datetime
) -> None:
    booked = AppointmentFactory(client=person, service=cut, starts_at=now)

    check_in(appointment=booked, by=receptionist, at=now)

    assert booked.status == Status.CHECKED_IN


def test_a_mistaken_check_in_is_taken_back_with_its_reason(
    booked: Appointment, clear: PatchTestReading, receptionist: Staff, now: dt.datetime
) -> None:
    check_in(appointment=booked, by=receptionist, at=now)

    undo_check_in(appointment=booked, reason="wrong person", by=receptionist, at=now)

    assert booked.status == Status.BOOKED
    assert present(booked.events.last()).reason == "wrong person"


@pytest.mark.parametrize(
    ("birth_date", "code"), [(None, "age_unknown"), (dt.date(2010, 3, 12), "under_age")]
)
@pytest.mark.usefixtures("clear")
def test_age_shuts_the_gate_and_nobody_opens_it(
    booked: Appointment, owner: Staff, now: dt.datetime, birth_date: dt.date | None, code: str
) -> None:
    """Sixteen is the least; on 11 March 2026 this client is a day short of it.

    Source: Regulation (EC) 1223/2009, Annex III: not intended for under 16.
    """
    booked.client.birth_date = birth_date
    booked.client.save()

    gate = colour_gate(
        client=booked.client, line=present(booked.line), at=now, appointment=booked
    )

    assert [reason.code for reason in gate.reasons] == [code]
    with pytest.raises(OverrideRefused):
        record_override(appointment=booked, reason="She is nearly sixteen", by=owner, at=now)


def test_sixteen_today_is_old_enough(
    booked: Appointment, clear: PatchTestReading, now: dt.datetime
) -> None:
    booked.client.birth_date = dt.date(2010, 3, 11)
    booked.client.save()

    gate = colour_gate(
        client=booked.client, line=present(booked.line), at=now, appointment=booked
    )

    assert gate.is_open


@pytest.mark.parametrize("question", ["scalp", "reaction_ever", "black_henna_reaction"])
def test_a_forbidding_answer_shuts_the_gate_until_it_is_asked_again(
    booked: Appointment,
    clear: PatchTestReading,
    stylist: Staff,
    now: dt.datetime,
    question: str,
) -> None:
    """The three "do not colour if" of Regulation (EC) 1223/2009, Annex III."""
    answer_safety_questions(
        client=booked.client, answers={question: Answer.YES}, by=stylist, at=now
    )
    shut = colour_gate(
        client=booked.client, line=present(booked.line), at=now, appointment=booked
    )

    later = now + dt.timedelta(minutes=5)
    answer_safety_questions(
        client=booked.client, answers={question: Answer.NO}, by=stylist, at=later
    )

    assert [reason.code for reason in shut.reasons] == [f"answer_{question}"]
    assert shut.can_ask_again
    assert colour_gate(client=booked.client, line=present(booked.line), at=later).is_open


def test_pregnancy_only_advises(
    booked: Appointment, clear: PatchTestReading, stylist: Staff, now: dt.datetime
) -> None:
    answer_safety_questions(
        client=booked.client, answers={"pregnancy": Answer.YES}, by=stylist, at=now
    )

    assert colour_gate(client=booked.client, line=present(booked.line), at=now).is_open


def test_an_owner_opens_a_missing_test_in_writing(
    booked: Appointment, owner: Staff, receptionist: Staff, now: dt.datetime
) -> None:
    record_override(appointment=booked, reason="Tested at the other house", by=owner, at=now)

    check_in(appointment=booked, by=receptionist, at=now)

    assert booked.status == Status.CHECKED_IN
    assert PatchOverride.objects.get().recorded_by == owner


@pytest.mark.parametrize("who", ["receptionist", "stylist"])
def test_only_an_owner_overrides(
    booked: Appointment, now: dt.datetime, request: pytest.FixtureRequest, who: str
) -> None:
    with pytest.raises(PermissionDenied):
        record_override(
            appointment=booked,
            reason="It will be fine, surely",
            by=request.getfixturevalue(who),
            at=now,
        )


def test_a_reaction_is_never_overridden(
    booked: Appointment, owner: Staff, person: Client, line: ProductLine, now: dt.datetime
) -> None:
    test = PatchTestFactory(client=person, line=line, applied_at=now - 5 * DAY)
    ReadingFactory(test=test, outcome=ReadingOutcome.REACTION)

    with pytest.raises(OverrideRefused, match="reaction"):
        record_override(appointment=booked, reason="The client insists", by=owner, at=now)


def test_a_reaction_after_the_override_shuts_the_gate_again(
    booked: Appointment, owner: Staff, person: Client, line: ProductLine, now: dt.datetime
) -> None:
    test = PatchTestFactory(client=person, line=line, applied_at=now - DAY)
    record_override(appointment=booked, reason="Reads clear at 24 hours", by=owner, at=now)
    ReadingFactory(test=test, outcome=ReadingOutcome.REACTION, read_at=now)

    gate = colour_gate(client=person, line=line, at=now, appointment=booked)

    assert [reason.code for reason in gate.reasons] == ["reacted"]
    assert gate.next_possible_at is None


@pytest.mark.usefixtures("clear")
def test_an_answer_after_the_override_shuts_the_gate_again(
    booked: Appointment, owner: Staff, stylist: Staff, now: dt.datetime
) -> None:
    client, line = booked.client, present(booked.line)
    answer_safety_questions(
        client=client, answers={"new_allergy": Answer.YES}, by=stylist, at=now
    )
    record_override(appointment=booked, reason="An allergy to apples only", by=owner, at=now)
    open_now = colour_gate(client=client, line=line, at=now, appointment=booked)
    later = now + dt.timedelta(minutes=10)

    answer_safety_questions(
        client=client, answers={"black_henna": Answer.YES}, by=stylist, at=later
    )

    assert open_now.is_open
    gate = colour_gate(client=client, line=line, at=later, appointment=booked)
    assert [reason.code for reason in gate.reasons] == ["void"]


def test_an_override_needs_something_to_override(
    booked: Appointment, clear: PatchTestReading, owner: Staff, now: dt.datetime
) -> None:
    with pytest.raises(OverrideRefused, match="no override is needed"):
        record_override(appointment=booked, reason="Just to be sure of it", by=owner, at=now)


def test_an_override_stays_as_it_was_written(
    booked: Appointment, owner: Staff, now: dt.datetime
) -> None:
    override = record_override(
        appointment=booked, reason="Tested at the other house", by=owner, at=now
    )

    override.reason = "Something else"
    with pytest.raises(AppendOnlyError):
        override.save()
