"""The state of the work outside of requests: for the owner's page and for a watcher."""

import datetime as dt
from dataclasses import dataclass

from django.db.models import Min
from django.db.models.functions import Now
from django.utils import timezone
from django_tasks import TaskResultStatus
from django_tasks.base import Task
from django_tasks_db.models import DBTaskResult

from salon.models import TimetableEntry, WorkerLease
from salon.work import timetable

LATELY = dt.timedelta(days=7)


@dataclass(frozen=True)
class QueueStatus:
    """When a worker was last seen, and what is queued."""

    is_alive: bool
    seen_at: dt.datetime | None
    waiting: int
    waiting_since: dt.datetime | None
    running: int
    failed: int  # within the last seven days


@dataclass(frozen=True)
class JobStatus:
    """A job of the timetable."""

    label: str
    ended_at: dt.datetime | None
    fault: str
    due_at: dt.datetime | None


def is_worker_alive() -> bool:
    """Return whether a worker runs, so that what is queued will be done."""
    return WorkerLease.objects.filter(until__gt=Now()).exists()


def is_queued(task: Task[..., None], *args: object) -> bool:
    """Return whether a task waits with these arguments, or is being done."""
    return (
        DBTaskResult.objects.filter(
            task_path=task.module_path, args_kwargs={"args": list(args), "kwargs": {}}
        )
        .filter(status__in=[TaskResultStatus.READY, TaskResultStatus.RUNNING])
        .exists()
    )


def is_queued_for(task: Task[..., None], pk: int) -> bool:
    """Return whether a task whose first argument this is waits, or is being done."""
    return (
        DBTaskResult.objects.filter(task_path=task.module_path, args_kwargs__args__0=pk)
        .filter(status__in=[TaskResultStatus.READY, TaskResultStatus.RUNNING])
        .exists()
    )


def queue() -> QueueStatus:
    """Return the state of the queue."""
    last = WorkerLease.objects.order_by("-seen_at").first()
    ready = DBTaskResult.objects.ready()
    failed = DBTaskResult.objects.failed().filter(finished_at__gt=timezone.now() - LATELY)
    return QueueStatus(
        is_alive=is_worker_alive(),
        seen_at=last.seen_at if last else None,
        waiting=ready.count(),
        waiting_since=ready.aggregate(since=Min("enqueued_at"))["since"],
        running=DBTaskResult.objects.running().count(),
        failed=failed.count(),
    )


def jobs() -> list[JobStatus]:
    """Return the timetable, in its order."""
    entries = TimetableEntry.objects.in_bulk()
    found = []
    for job in timetable.jobs():
        entry = entries.get(job.name)
        found.append(
            JobStatus(
                label=str(job.label),
                ended_at=entry.ended_at if entry else None,
                fault=entry.fault if entry else "",
                due_at=entry.due_at if entry else None,
            )
        )
    return found


def for_a_watcher() -> dict[str, object]:
    """Return the queue's status as /readyz gives it."""
    now, found = timezone.now(), queue()
    seen = (now - found.seen_at).total_seconds() if found.seen_at else None
    return {
        "worker": "running" if found.is_alive else "not seen" if seen is None else "gone",
        "seen_seconds_ago": None if seen is None else max(0, round(seen)),
        "waiting": found.waiting,
        "running": found.running,
        "failed": found.failed,
    }
