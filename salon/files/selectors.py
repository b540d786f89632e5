"""Reads of prepared files, for who asked for them."""

import datetime as dt
from dataclasses import dataclass

from django.utils.translation import gettext as _

from salon.files import kinds
from salon.files.kinds import FileRefused
from salon.files.reasons import REASONS
from salon.models import FileState, PreparedFile, Staff

SHOWN = 30


@dataclass(frozen=True)
class FileRow:
    """A file as the page shows it."""

    file: PreparedFile
    label: str
    state: str
    why: str

    @property
    def percent(self) -> int:
        """How far it is, as far as is known beforehand."""
        expected = max(self.file.rows_expected, self.file.rows_done, 1)
        return min(99, 100 * self.file.rows_done // expected)


def files_of(*, by: Staff, at: dt.datetime) -> list[FileRow]:
    """Return somebody's files, latest first."""
    files = PreparedFile.objects.filter(requested_by=by, salon=by.salon)[:SHOWN]
    return [_row(file, at) for file in files]


def _row(file: PreparedFile, at: dt.datetime) -> FileRow:
    try:
        label = str(kinds.of(file.kind).label)
    except FileRefused:
        label = file.kind
    is_over = file.state == FileState.DONE and (file.expires_at or at) <= at
    why = _(REASONS[file.fault]) if file.fault in REASONS else ""
    return FileRow(file, label, FileState.EXPIRED if is_over else file.state, why)
