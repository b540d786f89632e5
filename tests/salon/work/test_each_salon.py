"""What the clock does for every salon is done for the others where it fails in one."""

import io
from typing import Any
from unittest import mock

import psycopg
import pytest
from django.core.management import CommandError, call_command
from django.db import OperationalError

from clients.models import RetentionRun
from salon.doctor import Weight, fine, setup
from salon.models import Salon, TimetableEntry
from salon.work import timetable
from salon.work.each_salon import for_each_salon
from tests.factories.salon import SalonFactory

COMMANDS = {
    "send_reminders": "clients.management.commands.send_reminders.queue_reminders",
    "retain": "clients.management.commands.retain.run_retention",
    "anchor_signoffs": "consult.services.anchor_sign_offs",
}

SENDING = "clients.management.commands.send_reminders.send_reminders"


@pytest.fixture
def three(db: None) -> list[Salon]:
    return [SalonFactory(name=name) for name in ("Left", "Middle", "Right")]


@pytest.mark.parametrize("name", COMMANDS)
def test_one_that_fails_keeps_no_other_waiting_and_is_named(
    three: list[Salon], name: str, caplog: pytest.LogCaptureFixture
) -> None:
    done = []

    def act(*, salon: Salon, **_more: Any) -> mock.Mock | None:
        if salon == three[1]:
            raise ValueError("Ada Brandt said")
        done.append(salon)
        return mock.Mock(counts={}) if name == "retain" else None

    with (
        mock.patch(COMMANDS[name], side_effect=act),
        mock.patch(SENDING, return_value={}),
        pytest.raises(CommandError) as failed,
    ):
        call_command(name, stdout=io.StringIO())

    assert done == [three[0], three[2]]
    assert str(failed.value) == "Middle: ValueError"  # what was said stays in the log
    assert "the others go on" in caplog.text


def test_the_timetable_notes_which_one_failed(three: list[Salon]) -> None:
    real = "clients.management.commands.retain.enter_yearly"
    fails = mock.Mock(side_effect=[[], KeyError("x"), []])
    TimetableEntry.objects.create(name="retain", due_at="2026-11-29T02:40Z")
    with mock.patch(real, fails):
        timetable.run_job.func("retain")

    assert TimetableEntry.objects.get(name="retain").fault == "Middle: KeyError"
    assert RetentionRun.objects.count() == 3


def test_a_database_that_is_away_ends_the_turn(three: list[Salon]) -> None:
    error = OperationalError("gone")
    error.__cause__ = psycopg.OperationalError("gone")
    do = mock.Mock(side_effect=error)
    with pytest.raises(OperationalError):
        for_each_salon(do)
    assert do.call_count == 1


def test_the_doctor_looks_at_the_others_too(three: list[Salon]) -> None:
    def look(salon: Salon) -> list[Any]:
        if salon == three[1]:
            raise ValueError
        return [fine("Salon", salon.name)]

    with mock.patch.object(setup, "_of_salon", side_effect=look):
        found = list(setup.salons())

    assert [one.weight for one in found] == [Weight.FINE, Weight.WRONG, Weight.FINE]
    assert f"number {three[1].pk}" in found[1].sentence
