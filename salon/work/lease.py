"""Who works, and what becomes of the tasks of a worker that is gone.

The library marks a task as running and leaves it so for ever if its worker is killed. So each
worker keeps a lease that it renews; tasks of one whose lease is over are queued again. Times
are the database's: the clocks of two machines may differ.
"""

import datetime as dt
import logging
from collections.abc import Iterable
from typing import Any

from django.db.models import DateTimeField, ExpressionWrapper, Value
from django.db.models.functions import Now
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from salon.models import WorkerLease

log = logging.getLogger(__name__)

Task = DBTaskResult[Any, Any]

MOST_TRIES = 5  # a task that kills its worker each time is given up
FORGOTTEN_AFTER = dt.timedelta(days=30)
LOST = "salon.work.lease.WorkerLost"


class WorkerLost(Exception):
    """Why a task was given up: each worker that had it died."""


def holder(worker: str, lane: str) -> str:
    """Return how the tasks of a lane of a worker are marked."""
    return f"{worker}/{lane}"


def renew(worker: str, *, seconds: float) -> None:
    """Say that a worker lives, and for how long that holds."""
    until = ExpressionWrapper(
        Now() + Value(dt.timedelta(seconds=seconds)), output_field=DateTimeField()
    )
    WorkerLease.objects.update_or_create(
        name=worker,
        defaults={"seen_at": Now(), "until": until},
        create_defaults={"started_at": Now(), "seen_at": Now(), "until": until},
    )


def end(worker: str) -> None:
    """End a worker's lease: it has stopped."""
    WorkerLease.objects.filter(name=worker).update(seen_at=Now(), until=Now())


def take_up_again() -> int:
    """Queue the tasks of workers whose lease is over; return how many tasks that were."""
    # In this order: a worker renews its lease before it takes its first task.
    running = list(DBTaskResult.objects.running())
    live = set(WorkerLease.objects.filter(until__gt=Now()).values_list("name", flat=True))
    return _release(
        task for task in running if not task.worker_ids or _worker_of(task) not in live
    )


def release(by: str) -> int:
    """Queue what a living lane has taken and could not end, say without its database."""
    running = DBTaskResult.objects.running()
    return _release(task for task in running if task.worker_ids and task.worker_ids[-1] == by)


def forget_old() -> None:
    """Delete leases of workers that ended long ago."""
    old = ExpressionWrapper(Now() - Value(FORGOTTEN_AFTER), output_field=DateTimeField())
    WorkerLease.objects.filter(until__lt=old).delete()


def _worker_of(task: Task) -> str:
    return str(task.worker_ids[-1]).rpartition("/")[0]


def _release(tasks: Iterable[Task]) -> int:
    count = 0
    for task in tasks:
        # Of two that see the same one, or of one that has just ended it, only one changes it.
        same = DBTaskResult.objects.filter(
            pk=task.pk, status=TaskResultStatus.RUNNING, started_at=task.started_at
        )
        if len(task.worker_ids) >= MOST_TRIES:
            changed = same.update(
                status=TaskResultStatus.FAILED, finished_at=Now(), exception_class_path=LOST
            )
            log.error("task %s given up: its workers died", task.pk)
        else:
            changed = same.update(status=TaskResultStatus.READY)
        count += changed
    return count
