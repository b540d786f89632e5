"""Writes of prepared files, by the person who asked for one."""

import datetime as dt
import hashlib
import json
import logging
from collections.abc import Iterator
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.db.models import F
from django.utils import translation
from django.utils.translation import gettext as _

from salon import audit, storage_key
from salon.encrypted_file import Damaged
from salon.files import kinds, making, store
from salon.files.kinds import FileRefused, FileRequest
from salon.models import OPEN_FILE, FileState, PreparedFile, Salon, Staff

log = logging.getLogger(__name__)


@transaction.atomic
def ask_for_file(
    *, kind: str, arguments: dict[str, Any], by: Staff, at: dt.datetime
) -> PreparedFile:
    """Queue a file; asked for again while it is open, it is the same one."""
    wanted = FileRequest(by.salon, by, at, arguments)
    found = kinds.of(kind)
    found.check(wanted)
    text = json.dumps([kind, arguments], sort_keys=True)
    digest = hashlib.sha256(text.encode()).hexdigest()
    try:
        with transaction.atomic():
            file = PreparedFile.objects.create(
                salon=by.salon, requested_by=by, requested_at=at, kind=kind,
                arguments=arguments, digest=digest, language=translation.get_language() or "",
                rows_expected=found.count(wanted),
            )  # fmt: skip
    except IntegrityError:
        return PreparedFile.objects.get(requested_by=by, digest=digest, state__in=OPEN_FILE)
    found.note(wanted)
    return _queue(file)


@transaction.atomic
def cancel_file(*, file: PreparedFile, by: Staff, at: dt.datetime) -> None:
    """Prepare a file no further; a worker that is at it keeps nothing."""
    _check_own(file, by)
    rows = PreparedFile.objects.filter(pk=file.pk, state__in=OPEN_FILE)
    if not rows.update(state=FileState.CANCELLED, ended_at=at):
        raise FileRefused(_("It is not being prepared any more."), code="not_open")


@transaction.atomic
def ask_again(*, file: PreparedFile, by: Staff, at: dt.datetime) -> PreparedFile:
    """Ask for the same again, of now, where a file failed, was cancelled or is deleted."""
    _check_own(file, by)
    is_ready = file.state == FileState.DONE and file.expires_at and file.expires_at > at
    if file.is_open or is_ready:
        raise FileRefused(_("It is being prepared or ready already."), code="not_ended")
    return ask_for_file(kind=file.kind, arguments=file.arguments, by=by, at=at)


def fetch_file(*, file: PreparedFile, by: Staff, at: dt.datetime) -> Iterator[bytes]:
    """Return a file in pieces, to who asked for it and may have it still; that is recorded."""
    _check_own(file, by)
    kinds.of(file.kind).check(kinds.request_of(file, by=by, at=at))
    if file.state != FileState.DONE or not file.expires_at or file.expires_at <= at:
        raise FileRefused(_("This file is deleted. Prepare it again."), code="expired")
    try:
        content = store.read(file.stored)
    except (FileNotFoundError, Damaged, storage_key.KeyLost) as fault:
        log.error("prepared file %s: %s", file.pk, fault)
        making.fail(file, "lost")
        raise FileRefused(
            _("It was stored, but cannot be read any more. Prepare it again."), code="lost"
        ) from fault
    with transaction.atomic():
        PreparedFile.objects.filter(pk=file.pk).update(fetched_at=at)
        audit.record_event("file fetched", target=file, by=by, at=at, file=file.kind)
    return content


def end_files(*, salon: Salon, at: dt.datetime) -> None:
    """Let nobody fetch what may still hold somebody erased; called by the erasure itself.

    What is ready is over, and tidying deletes it. What is being made begins again: the turn
    that has read the old rows keeps nothing.
    """
    files = PreparedFile.objects.filter(salon=salon)
    files.filter(state=FileState.DONE).update(expires_at=at)
    being_made = files.filter(state__in=OPEN_FILE)
    # Also those that wait: with their rows locked none begins before the erasure is kept.
    being_made.update(state=FileState.WAITING, turn=F("turn") + 1, rows_done=0)
    for file in being_made:
        _queue(file)


def _queue(file: PreparedFile) -> PreparedFile:
    task = making.make_file.enqueue(file.pk)
    PreparedFile.objects.filter(pk=file.pk).update(task=str(task.id))
    file.refresh_from_db()
    return file


def _check_own(file: PreparedFile, by: Staff) -> None:
    if file.requested_by_id != by.pk or file.salon_id != by.salon_id:
        raise PermissionDenied(_("Only who asked for a file can have it."))
