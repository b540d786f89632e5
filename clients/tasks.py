"""What the front desk does outside of requests."""

import datetime as dt

from django.db import transaction
from django.utils import timezone
from django_tasks import task

from clients import services
from clients.models import ClientImport, ImportStatus
from clients.sealed import keys
from clients.selectors.privacy import overdue
from clients.services.retention import retain_piece
from salon import languages
from salon.models import Staff, WorkRun
from salon.policies import require_owner
from salon.work import lanes, runs
from salon.work.status import is_queued_for


@task(queue_name=lanes.LONG)
def go_on_with_import(pk: int, by_pk: int) -> None:
    """Do the next piece of an import or of its undoing, and queue the one after it.

    Both are one transaction: a killed worker's piece was kept with its successor, or is done
    again from where it began. Done a second time it only takes the next piece.
    """
    by = Staff.objects.select_related("salon").get(pk=by_pk)
    with (
        keys.at_hand(),
        languages.speaking(by.language or by.salon.language),
        transaction.atomic(),
    ):
        found = ClientImport.objects.select_for_update().get(pk=pk)
        if found.status == ImportStatus.TAKING:
            found = services.take_in_piece(taking=found, by=by, at=timezone.now())
        elif found.status == ImportStatus.UNDOING:
            found = services.undo_piece(undoing=found, by=by, at=timezone.now())
        if found.is_running:
            go_on_with_import.enqueue(pk, by_pk)


@transaction.atomic
def queue_piece_again(found: ClientImport, *, by: Staff) -> None:
    """Queue an import's next piece where none waits: two that ask at once queue one."""
    rows = ClientImport.objects.select_for_update().defer("rows", "content", "refused")
    if rows.get(pk=found.pk).is_running and not is_queued_for(go_on_with_import, found.pk):
        go_on_with_import.enqueue(found.pk, by.pk)


@task(queue_name=lanes.LONG)
def retain_salon(pk: int) -> None:
    """Do the next piece of a run of the retention rules, and queue the one after it."""
    try:
        with keys.at_hand(), transaction.atomic():
            if retain_piece(pk=pk, at=timezone.now()):
                runs.queue(retain_salon, pk)
    except Exception:
        runs.fail(pk)
        raise


@transaction.atomic
def begin_retention(*, by: Staff, at: dt.datetime) -> WorkRun:
    """Begin what the worker does each night, for an owner's salon; pressed twice, once."""
    require_owner(by=by)
    return runs.begin(
        retain_salon, kind=services.RETENTION, salon=by.salon, by=by, at=at,
        count=lambda: sum(overdue(salon=by.salon, at=at).counts().values()),
    )  # fmt: skip
