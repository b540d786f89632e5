"""By the clock: files whose day is over go, and what dead workers left counts as failed."""

import datetime as dt
import logging

from django.utils import timezone
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from salon.files import store
from salon.models import OPEN_FILE, FileState, PreparedFile

log = logging.getLogger(__name__)

KEPT = dt.timedelta(hours=24)
# Rows say for a while what became of a file; what was typed into a filter goes with them.
ROWS_KEPT = dt.timedelta(days=7)
# A turn that stores a file takes less than this before its row names it.
STRAY_AFTER = dt.timedelta(hours=2)


def tidy() -> None:
    """Do all of it; each part may be done twice."""
    now = timezone.now()
    _expire(now)
    _give_up()
    _sweep(now)
    PreparedFile.objects.exclude(state__in=OPEN_FILE).filter(
        requested_at__lt=now - ROWS_KEPT
    ).exclude(state=FileState.DONE).delete()


def _expire(now: dt.datetime) -> None:
    """Delete what nobody may fetch any more; the row says so once it is gone."""
    over = PreparedFile.objects.filter(state=FileState.DONE, expires_at__lte=now)
    for file in over:
        store.delete(file.stored)
        PreparedFile.objects.filter(pk=file.pk, state=FileState.DONE).update(
            state=FileState.EXPIRED, stored=""
        )


def _give_up() -> None:
    """Say that a file failed whose task the queue gave up."""
    for file in PreparedFile.objects.filter(state__in=OPEN_FILE).exclude(task=""):
        given_up = DBTaskResult.objects.filter(pk=file.task, status=TaskResultStatus.FAILED)
        if given_up.exists():
            PreparedFile.objects.filter(pk=file.pk, turn=file.turn, state=file.state).update(
                state=FileState.FAILED, fault="worker", ended_at=timezone.now()
            )


def _sweep(now: dt.datetime) -> None:
    """Delete what a killed worker stored and could not name."""
    known = set(PreparedFile.objects.exclude(stored="").values_list("stored", flat=True))
    for name in store.strays(known=known, before=now - STRAY_AFTER):
        log.info("prepared file without a row deleted: %s", name)
        store.delete(name)
