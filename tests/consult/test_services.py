"""What the services of a visit refuse, and that nothing is left half-written."""

import datetime as dt
from decimal import Decimal
from unittest import mock

import pytest
from django.core.exceptions import PermissionDenied, ValidationError

from clients.models import Status as Booking
from consult import selectors, services
from consult.models import Status, Visit, ZoneReading
from consult.policies import VisitEnded
from consult.visit.path import Step
from salon import audit
from salon.models import Role, Salon, Staff
from tests.factories.consult import (
    Story,
    checked_in,
    cleared_client,
    head,
    stocked_line,
    zone,
)
from tests.factories.salon import StaffFactory


def test_opening_twice_gives_the_same_visit(story: Story) -> None:
    again = services.open_visit(appointment=story.visit.appointment, by=story.by, at=story.at)

    assert again.pk == story.visit.pk
    assert again.appointment.status == Booking.IN_SERVICE


def test_a_client_who_is_not_checked_in_has_no_visit(
    salon: Salon, stylist: Staff, now: dt.datetime
) -> None:
    line = stocked_line(salon, by=stylist, at=now)
    client = cleared_client(salon, line, by=stylist, at=now)
    appointment = checked_in(client, line, stylist=stylist, starts_at=now)
    appointment.status = Booking.BOOKED
    appointment.save()

    with pytest.raises(services.OpeningRefused, match="Check the client in"):
        services.open_visit(appointment=appointment, by=stylist, at=now)


def test_an_appointment_without_a_line_has_no_colour_visit(
    salon: Salon, stylist: Staff, now: dt.datetime
) -> None:
    line = stocked_line(salon, by=stylist, at=now)
    client = cleared_client(salon, line, by=stylist, at=now)
    appointment = checked_in(client, None, stylist=stylist, starts_at=now)

    with pytest.raises(services.OpeningRefused, match="no colour"):
        services.open_visit(appointment=appointment, by=stylist, at=now)


@pytest.mark.parametrize("role", [Role.RECEPTIONIST])
def test_the_desk_does_not_work_on_a_visit(story: Story, salon: Salon, role: str) -> None:
    desk = StaffFactory(salon=salon, role=role)

    with pytest.raises(PermissionDenied):
        services.answer_safety(visit=story.visit, answers={}, by=desk, at=story.at)


def test_nobody_works_on_another_salons_visit(story: Story, other_salon: Salon) -> None:
    stranger = StaffFactory(salon=other_salon, role=Role.OWNER)

    with pytest.raises(PermissionDenied):
        services.stop_visit(visit=story.visit, reason="x", by=stranger, at=story.at)


def test_an_answer_that_forbids_colour_keeps_the_visit_at_the_questions(story: Story) -> None:
    story.answer(scalp="yes")

    assert story.facts.due == Step.SAFETY
    with pytest.raises(services.OutOfOrder):
        story.read()


def test_pregnancy_may_be_left_open_and_nothing_else(story: Story) -> None:
    story.answer(pregnancy="")
    assert story.facts.due == Step.HAIR

    with pytest.raises(services.AnswersMissing):
        story.answer(scalp="")
    with pytest.raises(services.AnswersMissing):
        story.answer(scalp="skipped")


def test_a_changed_answer_keeps_the_earlier_one(story: Story) -> None:
    story.answer(scalp="yes")
    story.answer()

    rows = story.visit.client.safety_answers.filter(question="scalp").order_by("answered_at")
    assert [row.answer for row in rows] == ["yes", "no"]
    assert story.facts.due == Step.HAIR


def test_a_zone_that_reads_as_before_gets_no_new_row(story: Story) -> None:
    story.answer().read()

    story.read(roots=zone(lifted_level=Decimal("7.0")))

    assert ZoneReading.objects.filter(visit=story.visit).count() == 4
    assert selectors.groups_of(selectors.readings_in_force(story.visit)) == [
        "roots",
        "mid_lengths,ends",
    ]


def test_every_zone_is_read_and_one_at_least_toned(story: Story) -> None:
    story.answer()
    readings = head()
    del readings["ends"]

    with pytest.raises(services.ReadingMissing, match="all three"):
        services.read_hair(visit=story.visit, readings=readings, by=story.by, at=story.at)
    untoned = zone(is_toned=False)
    with pytest.raises(services.ReadingMissing, match="at least one"):
        story.read(roots=untoned, mid_lengths=untoned, ends=untoned)
    with pytest.raises(ValidationError):
        story.read(roots=zone(lifted_level=Decimal("11.0")))
    assert not ZoneReading.objects.exists()


def test_a_changed_reading_asks_for_a_new_choice(story: Story) -> None:
    story.to_bench()

    story.read(ends=zone(lifted_level=Decimal("8.5")))

    assert story.facts.due == Step.CHOICE
    assert story.visit.sign_offs.count() == 1


@pytest.fixture
def signed(story: Story) -> Story:
    story.answer().read()
    story.choose()
    story.sign()
    return story


def test_a_visit_without_a_result_does_not_close(signed: Story) -> None:
    with pytest.raises(services.ClosingRefused):
        signed.close()


def test_a_closed_visit_is_never_changed(story: Story) -> None:
    story.to_end()

    for write in (story.answer, story.read, story.choose, story.close):
        with pytest.raises(VisitEnded):
            write()


def test_a_visit_may_end_without_colour_until_a_bowl_is_on_the_hair(signed: Story) -> None:
    with pytest.raises(services.ClosingRefused, match="why"):
        services.stop_visit(visit=signed.visit, reason=" ", by=signed.by, at=signed.later())
    signed.decide()
    (bowl,) = signed.mix()
    services.start_processing(bowl=signed.fresh(bowl), by=signed.by, at=signed.later())
    signed.visit.refresh_from_db()

    with pytest.raises(services.ClosingRefused, match="There was colour on the hair"):
        services.stop_visit(visit=signed.visit, reason="x", by=signed.by, at=signed.later())


def test_a_correction_points_back_and_leaves_the_record(story: Story) -> None:
    visit = story.to_end()
    version = visit.version

    redo = services.open_visit(
        appointment=visit.appointment, corrects=visit, by=story.by, at=story.later()
    )

    visit.refresh_from_db()
    assert (redo.corrects, visit.version, visit.status) == (visit, version, Status.CLOSED)


def test_a_stale_form_is_told_what_changed(story: Story, salon: Salon) -> None:
    colleague = StaffFactory(salon=salon, display_name="Berta")
    opened_at = story.visit.version
    services.answer_safety(
        visit=Visit.objects.get(pk=story.visit.pk),
        answers={**dict.fromkeys(_keys(), "no")},
        by=colleague,
        at=story.later(),
    )

    with pytest.raises(services.StaleVisit) as refusal:
        services.answer_safety(
            visit=story.visit,
            answers={**dict.fromkeys(_keys(), "no")},
            by=story.by,
            at=story.later(),
            expected_version=opened_at,
        )

    (change,) = refusal.value.changes
    assert (change.recorded_by, change.kind) == (colleague, "safety answered")
    assert story.visit.client.safety_answers.count() == len(_keys())


def _keys() -> list[str]:
    from clients.skin_test.safety import QUESTIONS

    return [question.key for question in QUESTIONS]


def test_a_failed_audit_write_rolls_the_change_back(story: Story) -> None:
    with (
        mock.patch.object(audit, "record_event", side_effect=RuntimeError),
        pytest.raises(RuntimeError),
    ):
        story.answer()

    story.visit.refresh_from_db()
    assert (story.facts.due, story.visit.version) == (Step.SAFETY, 1)
    assert not story.visit.client.safety_answers.exists()
