"""The retention rules are run by the worker: seen, once at a time, and whole where it dies."""

import datetime as dt
from functools import partial
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.core.management import call_command
from django.db import connection
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult
from pytest_django import Settings

from clients import tasks
from clients.models import Client, RetentionRun
from clients.services import privacy, retention
from salon.models import AuditEvent, Role, RunState, Staff, WorkRun
from salon.work import runs
from tests.factories.clients import ClientFactory
from tests.factories.salon import StaffFactory
from tests.typed import SignIn
from tests.workers import QUEUE, Workers, is_done

PAGE = "/salon/retention/"
LONG_AGO = dt.timedelta(days=9 * 366)


def _gone(owner: Staff, now: dt.datetime, count: int) -> list[Client]:
    return [
        ClientFactory(salon=owner.salon, name=f"Gone {n}", registered_at=now - LONG_AGO)
        for n in range(count)
    ]


def _left() -> int:
    return Client.objects.filter(shut="").count()


@pytest.fixture
def queued(settings: Settings) -> None:
    settings.TASKS = QUEUE


def _next_piece() -> None:
    """Do the task that waits, as a worker does."""
    task = DBTaskResult.objects.ready().get()
    tasks.retain_salon.call(*task.args_kwargs["args"])
    DBTaskResult.objects.filter(pk=task.pk).update(status=TaskResultStatus.SUCCESSFUL)


def test_an_owner_starts_it_and_sees_how_far_it_is(
    owner: Staff, now: dt.datetime, client_for: SignIn, queued: None,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setattr(retention, "PIECE", 2)
    _gone(owner, now, 5)
    boss: Browser = client_for(owner)
    assert "Erase this now" in boss.get(PAGE).text

    boss.post(reverse("clients:run_retention"))

    page = boss.get(PAGE).text
    assert "0 of about 5" in page
    assert 'hx-trigger="every 2s"' in page
    assert "the background worker is not running" in page
    assert "Erase this now" not in page
    _next_piece()
    assert "2 of about 5" in boss.get(PAGE).text
    assert _left() == 3
    while DBTaskResult.objects.ready().exists():
        _next_piece()
    page = boss.get(PAGE).text
    assert "The last run ended on" in page
    assert "every 2s" not in page
    assert "Erase this now" not in page  # nothing is left to erase
    assert _left() == 0
    assert RetentionRun.objects.get().counts["people"] == 5
    assert AuditEvent.objects.filter(kind="retention run").count() == 1


def test_pressed_twice_or_by_two_owners_it_runs_once(
    owner: Staff, now: dt.datetime, client_for: SignIn, queued: None
) -> None:
    _gone(owner, now, 1)
    other = StaffFactory(salon=owner.salon, role=Role.OWNER)

    for person in (owner, owner, other):
        client_for(person).post(reverse("clients:run_retention"))

    assert WorkRun.objects.count() == DBTaskResult.objects.count() == 1


def test_another_salon_runs_its_own_at_the_same_time(owner: Staff, queued: None) -> None:
    stranger = StaffFactory(role=Role.OWNER)

    for person in (owner, stranger):
        tasks.begin_retention(by=person, at=timezone.now())

    assert set(WorkRun.objects.values_list("salon", flat=True)) == {
        owner.salon_id, stranger.salon_id,
    }  # fmt: skip


def test_nobody_but_an_owner_starts_it(stylist: Staff, client_for: SignIn) -> None:
    assert client_for(stylist).post(reverse("clients:run_retention")).status_code == 403
    with pytest.raises(PermissionDenied):
        tasks.begin_retention(by=stylist, at=timezone.now())
    assert not WorkRun.objects.exists()


def test_a_fault_undoes_its_piece_only_and_is_said(
    owner: Staff, now: dt.datetime, client_for: SignIn, queued: None,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setattr(retention, "PIECE", 2)
    _gone(owner, now, 5)
    boss: Browser = client_for(owner)
    boss.post(reverse("clients:run_retention"))
    _next_piece()
    erase, calls = privacy.erase, []

    def broken(**who: Any) -> None:
        calls.append(who)
        if len(calls) == 2:
            raise OSError("no room")
        erase(**who)

    with monkeypatch.context() as patched:
        patched.setattr(retention, "erase", broken)
        with pytest.raises(OSError, match="no room"):
            _next_piece()
    assert _left() == 3
    assert WorkRun.objects.get().state == RunState.FAILED
    assert "ended by a fault" in boss.get(PAGE).text

    call_command("retain", verbosity=0)

    assert _left() == 0
    assert RetentionRun.objects.get().counts["people"] == 3  # of this run; the page adds none
    assert "ended by a fault" not in boss.get(PAGE).text


def test_a_run_whose_task_is_gone_is_gone_on_with(
    owner: Staff, now: dt.datetime, client_for: SignIn, queued: None,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setattr(retention, "PIECE", 2)
    _gone(owner, now, 3)
    boss: Browser = client_for(owner)
    boss.post(reverse("clients:run_retention"))
    _next_piece()
    DBTaskResult.objects.ready().update(status=TaskResultStatus.FAILED)
    assert "ended by a fault" in boss.get(PAGE).text

    boss.post(reverse("clients:run_retention"))
    while DBTaskResult.objects.ready().exists():
        _next_piece()

    assert WorkRun.objects.get().state == RunState.DONE
    assert RetentionRun.objects.get().counts["people"] == 3
    runs.tidy()
    assert WorkRun.objects.exists()  # the latest of its kind stays


def test_old_runs_go_and_lost_ones_are_failed(owner: Staff, queued: None) -> None:
    old = timezone.now() - runs.KEPT * 2
    for days in (0, 1):
        run = WorkRun.objects.create(
            salon=owner.salon, kind="retention", begun_at=old + dt.timedelta(days=days)
        )
        runs.end(run, outcome={})
    lost = tasks.begin_retention(by=owner, at=timezone.now())
    DBTaskResult.objects.update(status=TaskResultStatus.FAILED)

    runs.tidy()

    lost.refresh_from_db()
    assert lost.state == RunState.FAILED
    assert WorkRun.objects.count() == 2


@pytest.mark.slow
def test_killed_twice_it_erases_everybody_once_and_reports_all(workers: Workers) -> None:
    owner, now = StaffFactory(role=Role.OWNER), timezone.now()
    _gone(owner, now, 120)
    run = tasks.begin_retention(by=owner, at=now)

    def is_past(done: int) -> bool:
        run.refresh_from_db()
        return run.rows_done >= done

    for done in (20, 60):
        worker = workers.worker()
        workers.kill_where(partial(is_past, done), worker)
        connection.close()
    last = workers.worker()
    workers.until(is_done, last)
    workers.stop(last)

    run.refresh_from_db()
    assert run.state == RunState.DONE
    assert _left() == 0
    assert RetentionRun.objects.get().counts["people"] == 120
    assert AuditEvent.objects.filter(kind="retention run").count() == 1
