"""Long work that an owner starts and watches: one of a kind in a salon, with its progress.

The work itself is a task of the app that knows it. It begins with `held`, so that it may run
twice or beside another: whoever comes second finds the run where the first has left it.
"""

import datetime as dt
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone
from django_tasks import TaskResultStatus
from django_tasks.base import Task
from django_tasks_db.models import DBTaskResult

from salon.models import RunState, Salon, Staff, WorkRun

# What ended before is of use to nobody; the latest of each subject stays.
KEPT = dt.timedelta(days=90)


@transaction.atomic
def begin(
    task: Task[..., None], *, kind: str, salon: Salon, at: dt.datetime, by: Staff,
    count: Callable[[], int], subject: int = 0,
) -> WorkRun:  # fmt: skip
    """Begin a run and queue its task; one that is open already goes on as it is.

    An open one that no task goes on with is queued again.
    """
    run = opened(kind=kind, salon=salon, at=at, count=count, by=by, subject=subject)
    if not is_at_work(run):
        queue(task, run.pk)
        run.refresh_from_db()  # it may be done by now
    return run


@transaction.atomic
def opened(
    *, kind: str, salon: Salon, at: dt.datetime, count: Callable[[], int],
    by: Staff | None = None, subject: int = 0,
) -> WorkRun:  # fmt: skip
    """Return the run of a kind that is open in a salon, else a new one."""
    try:
        with transaction.atomic():
            run = WorkRun.objects.create(
                salon=salon, kind=kind, subject=subject, begun_by=by, begun_at=at
            )
    except IntegrityError:
        open_ones = WorkRun.objects.filter(salon=salon, kind=kind, state=RunState.OPEN)
        return open_ones.select_for_update().get()
    run.rows_expected = count()
    run.save(update_fields=["rows_expected"])
    return run


def queue(task: Task[..., None], pk: int) -> None:
    """Queue a run's task, or its next one."""
    result = task.enqueue(pk)
    WorkRun.objects.filter(pk=pk).update(task=str(result.id))


def is_at_work(run: WorkRun) -> bool:
    """Return whether a task goes on with a run, or waits to."""
    open_ones = [TaskResultStatus.READY, TaskResultStatus.RUNNING]
    tasks = DBTaskResult.objects.filter(status__in=open_ones)
    return bool(run.task) and tasks.filter(pk=run.task).exists()


@contextmanager
def held(pk: int) -> Iterator[WorkRun | None]:
    """Hold an open run for one piece of it, in a transaction; None where it has ended."""
    with transaction.atomic():
        run = WorkRun.objects.select_for_update().filter(pk=pk).first()
        yield run if run and run.is_open else None


def end(run: WorkRun, *, outcome: dict[str, Any]) -> None:
    """Note what came of a run; one that has ended in the meantime keeps what it has."""
    WorkRun.objects.filter(pk=run.pk, state=RunState.OPEN).update(
        state=RunState.DONE, outcome=outcome, ended_at=timezone.now()
    )


def fail(pk: int) -> None:
    """Note that a fault ended a run; what it did before stays done."""
    WorkRun.objects.filter(pk=pk, state=RunState.OPEN).update(
        state=RunState.FAILED, ended_at=timezone.now()
    )


def latest(*, kind: str, salon: Salon, subject: int = 0) -> WorkRun | None:
    """Return the latest run about something, open or not."""
    return WorkRun.objects.filter(kind=kind, salon=salon, subject=subject).first()


def latest_done(*, kind: str, salon: Salon, subject: int = 0) -> WorkRun | None:
    """Return the latest run about something that came to its end."""
    runs = WorkRun.objects.filter(kind=kind, salon=salon, subject=subject)
    return runs.filter(state=RunState.DONE).first()


def open_run(*, kind: str, salon: Salon) -> WorkRun | None:
    """Return the run of a kind that goes on in a salon, whatever it is about."""
    return WorkRun.objects.filter(kind=kind, salon=salon, state=RunState.OPEN).first()


def tidy() -> None:
    """Say that a run failed whose task is gone; delete old ones but the latest of each."""
    for run in WorkRun.objects.filter(state=RunState.OPEN).exclude(task=""):
        given_up = DBTaskResult.objects.filter(pk=run.task, status=TaskResultStatus.FAILED)
        if given_up.exists():
            fail(run.pk)
    ended = WorkRun.objects.exclude(state=RunState.OPEN)
    for run in ended.filter(begun_at__lt=timezone.now() - KEPT):
        same = WorkRun.objects.filter(salon=run.salon_id, kind=run.kind, subject=run.subject)
        if same.filter(state=RunState.DONE, begun_at__gt=run.begun_at).exists():
            run.delete()
