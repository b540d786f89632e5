"""The worker's part: a file is made whole and stored, then its row says that it is there."""

import logging
import tempfile
from typing import IO, cast

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django_tasks import task

from salon import languages
from salon.encrypted_file import Writer
from salon.files import kinds, store
from salon.files.kinds import FileRefused, FileRequest
from salon.files.progress import Ended, Progress, mine
from salon.files.tidying import KEPT
from salon.models import OPEN_FILE, FileState, PreparedFile
from salon.work import lanes

log = logging.getLogger(__name__)


@task(queue_name=lanes.LONG)
def make_file(pk: int) -> None:
    """Make a file, and again from its beginning where a killed worker was at it."""
    file = _begin(pk)
    if file is None:  # cancelled, or done by the worker that was killed right after
        return
    try:
        _make(file)
    except Ended:
        return
    except PermissionDenied:
        fail(file, "forbidden")
    except FileRefused:
        fail(file, "gone")
    except Exception:
        fail(file, "fault")
        raise


def _begin(pk: int) -> PreparedFile | None:
    rows = PreparedFile.objects.filter(pk=pk, state__in=OPEN_FILE)
    with transaction.atomic():
        rows.update(state=FileState.RUNNING, turn=F("turn") + 1, rows_done=0)
        return rows.select_related("salon", "requested_by").first()


def _make(file: PreparedFile) -> None:
    wanted = kinds.request_of(file, by=file.requested_by, at=timezone.now())
    kind = kinds.of(file.kind)
    if not file.requested_by.is_active:
        raise PermissionDenied
    with (
        timezone.override(file.salon.zone),
        languages.speaking(file.language),
        tempfile.TemporaryFile() as content,
    ):
        kind.check(wanted)
        progress = Progress(file)
        size = _write(kind, wanted, content, progress)
        progress.say()  # who cancelled in the meantime spares the store
        _keep(file, store.put(file, content), size, progress.rows)


def _write(kind: kinds.Kind, wanted: FileRequest, out: IO[bytes], progress: Progress) -> int:
    """Write a file, encrypted as it is made; return how large it is without that."""
    with Writer(out) as closed:
        counted = store.Counted(closed)
        kind.write(wanted, cast(IO[bytes], counted), progress)
        return counted.size


def _keep(file: PreparedFile, stored: str, size: int, rows: int) -> None:
    """Say that a file is there; if it was cancelled or begun again, delete it."""
    now = timezone.now()
    kept = mine(file).update(
        state=FileState.DONE, stored=stored, size=size, rows_done=rows, rows_expected=rows,
        ended_at=now, expires_at=now + KEPT,
    )  # fmt: skip
    if not kept:
        store.delete(stored)


def fail(file: PreparedFile, fault: str) -> None:
    """Say why a file is not to be had; another turn of it goes on."""
    rows = PreparedFile.objects.filter(pk=file.pk, turn=file.turn).exclude(
        state=FileState.CANCELLED
    )
    rows.update(state=FileState.FAILED, fault=fault, stored="", ended_at=timezone.now())
