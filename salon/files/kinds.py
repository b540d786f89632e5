"""The kinds of file: what each app can write, for whom, and what is short enough for a page."""

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import IO, Any

from django.core.exceptions import PermissionDenied
from django.utils.functional import Promise

from salon.files.progress import Progress
from salon.models import PreparedFile, Salon, Staff
from salon.policies import require_owner
from salon.refusals import Refused

# The one rule: what has no more rows than this is given at once. A thousand rows of the widest
# table take about half a second of one core; pages printed count by their own number.
MOST_AT_ONCE = 1_000
CSV, ZIP, PDF = "text/csv; charset=utf-8", "application/zip", "application/pdf"


class FileRefused(Refused):
    """Raised where what a file is about is gone, or not to be had."""


@dataclass(frozen=True)
class FileRequest:
    """Who asks for a file, when, and for what; the arguments are numbers, days and codes."""

    salon: Salon
    by: Staff
    at: dt.datetime
    arguments: Mapping[str, Any]


def request_of(file: PreparedFile, *, by: Staff, at: dt.datetime) -> FileRequest:
    """Return what a file was asked for with."""
    return FileRequest(file.salon, by, at, file.arguments)


def owners_only(wanted: FileRequest) -> None:
    """Let owners have a file of their own salon, and nobody else."""
    if wanted.by.salon_id != wanted.salon.pk:
        raise PermissionDenied
    require_owner(by=wanted.by)


@dataclass(frozen=True)
class Kind:
    """A kind of file.

    `check` refuses who may not have it; it is asked when the file is asked for, when it is
    made, and each time it is fetched. `note` records that it was asked for. `count` says of
    about how many rows it is.
    """

    label: Promise | str
    content_type: str
    name: Callable[[FileRequest], str]
    check: Callable[[FileRequest], None]
    note: Callable[[FileRequest], None]
    count: Callable[[FileRequest], int]
    write: Callable[[FileRequest, IO[bytes], Progress], None]
    most_at_once: int = MOST_AT_ONCE
    opens: bool = False  # shown by the browser, as a page to print is


_kinds: dict[str, Kind] = {}


def add(name: str, kind: Kind) -> None:
    """Enter a kind."""
    _kinds[name] = kind


def of(name: str) -> Kind:
    """Return a kind; FileRefused where this release does not know it."""
    if name not in _kinds:
        raise FileRefused(code="gone")
    return _kinds[name]


def names() -> list[str]:
    """Return every kind's name."""
    return sorted(_kinds)
