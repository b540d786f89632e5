"""What is done by the clock: each job once, however many workers there are.

Apps enter their jobs in their `registration`. A worker that finds one due moves its row on and
queues a task, in one transaction under the row's lock; the queue does the rest.
"""

import datetime as dt
import io
import logging
from collections.abc import Callable
from dataclasses import dataclass

from django.core.management import CommandError, call_command
from django.db import transaction
from django.utils import timezone
from django.utils.functional import Promise
from django_tasks import TaskResultStatus, task
from django_tasks_db.models import DBTaskResult

from salon.models import Salon, TimetableEntry
from salon.work import lanes

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Job:
    """Something to do every so often, or each night at a time of the first salon's clock."""

    name: str
    label: Promise | str
    run: Callable[[], None]
    every: dt.timedelta | None = None
    at: dt.time | None = None
    lane: str = lanes.QUICK
    is_on: Callable[[], bool] = lambda: True

    def first_due(self, now: dt.datetime) -> dt.datetime:
        """Return when it is done for the first time."""
        return now if self.every else self.next_due(now)

    def next_due(self, now: dt.datetime) -> dt.datetime:
        """Return when it is done after now."""
        if self.every:
            return now + self.every
        salon = Salon.objects.order_by("pk").first()
        zone = salon.zone if salon else dt.UTC
        local = now.astimezone(zone)
        due = dt.datetime.combine(local.date(), self.at or dt.time(3), zone)
        if due <= now:
            due = dt.datetime.combine(
                local.date() + dt.timedelta(days=1), self.at or dt.time(3), zone
            )
        return due


def run_command(name: str, *words: object, **options: object) -> None:
    """Run a command of the product without its report, which nobody would read."""
    call_command(name, *words, stdout=io.StringIO(), **options)


_jobs: dict[str, Job] = {}


def add(*jobs: Job) -> None:
    """Enter jobs."""
    _jobs.update({job.name: job for job in jobs})


def jobs() -> list[Job]:
    """Return every job that is switched on."""
    return [job for job in _jobs.values() if job.is_on()]


def queue_due() -> list[str]:
    """Queue the jobs that are due, each once; return their names."""
    now = timezone.now()
    known = dict(TimetableEntry.objects.values_list("name", "due_at"))
    fresh = [job for job in jobs() if job.name not in known]
    TimetableEntry.objects.bulk_create(
        [TimetableEntry(name=job.name, due_at=job.first_due(now)) for job in fresh],
        ignore_conflicts=True,
    )
    due = [job for job in jobs() if known.get(job.name, now) <= now]
    return [job.name for job in due if _queue(job, now)]


@transaction.atomic
def _queue(job: Job, now: dt.datetime) -> bool:
    entry = (
        TimetableEntry.objects.select_for_update(skip_locked=True)
        .filter(name=job.name, due_at__lte=now)
        .first()
    )
    if entry is None:  # another worker has it
        return False
    entry.due_at = job.next_due(now)
    is_free = not entry.task or not _is_open(entry.task)
    if is_free:
        entry.task = str(run_job.using(queue_name=job.lane).enqueue(job.name).id)
    entry.save(update_fields=["due_at", "task"])
    return is_free


def _is_open(number: str) -> bool:
    open_ones = [TaskResultStatus.READY, TaskResultStatus.RUNNING]
    return DBTaskResult.objects.filter(pk=number, status__in=open_ones).exists()


@task()
def run_job(name: str) -> None:
    """Do a job, and note what came of it; every job may be done again."""
    job = _jobs.get(name)
    if job is None:  # of a release that is gone
        return
    fault = ""
    try:
        job.run()
    except CommandError as error:  # the command has printed why
        fault = str(error)
        log.error("%s: %s", name, fault)
    except Exception as error:
        fault = type(error).__name__
        raise
    finally:
        TimetableEntry.objects.filter(name=name).update(
            ended_at=timezone.now(), fault=fault[:300]
        )
