"""What the machine does to a request: no database, no store of photos, a full disk.

Said in words, and tried once more.

A page that was only read is read again as soon as the database is back. What would write is
never sent a second time by itself: the sender learns that nothing was saved.
"""

import errno
import sqlite3
import time
from collections.abc import Callable, Iterator

import psycopg
from django.core.handlers.wsgi import WSGIRequest
from django.db import OperationalError, connection
from django.http import HttpRequest, HttpResponseBase

PATIENCE = 10.0  # seconds for a database to come back; a proxy waits longer
PAUSE = 0.2
MOST_AGAIN = 2  # it may go away once more while the page is read again
_FULL = {"53100"}  # PostgreSQL's disk_full
# Class 08, connection exceptions; 57P, the server stops or starts.
_AWAY = ("08", "57P")
_OF_STORE = ("botocore.", "boto3.")


def is_full_disk(error: BaseException | None) -> bool:
    """Return whether something could not be written because the disk is full."""
    return any(
        (isinstance(cause, OSError) and cause.errno in {errno.ENOSPC, errno.EDQUOT})
        or getattr(cause, "sqlite_errorcode", None) == sqlite3.SQLITE_FULL
        or getattr(cause, "sqlstate", None) in _FULL
        for cause in _causes(error)
    )


def is_away(error: BaseException | None) -> bool:
    """Return whether the database could not be reached, or went away in the middle."""
    return not is_full_disk(error) and any(_is_of_outage(cause) for cause in _causes(error))


def is_store_away(error: BaseException | None) -> bool:
    """Return whether the object store of the photos could not be reached, or refused.

    By the modules of its errors: their classes are imported only where there is such a store.
    """
    return any(type(cause).__module__.startswith(_OF_STORE) for cause in _causes(error))


def _is_of_outage(error: BaseException) -> bool:
    if isinstance(error, psycopg.InterfaceError):  # the connection is closed already
        return True
    if isinstance(error, psycopg.OperationalError):
        return error.sqlstate is None or error.sqlstate.startswith(_AWAY)
    code = getattr(error, "sqlite_errorcode", None)
    return code is not None and code & 0xFF in {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}


def _causes(error: BaseException | None) -> Iterator[BaseException]:
    while error is not None:
        yield error
        error = error.__cause__


class OutageMiddleware:
    """Read a page again if the database went away while it was read."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        for _again in range(MOST_AGAIN):
            is_lost = getattr(request, "is_without_database", False)
            if not is_lost or request.method not in {"GET", "HEAD"} or not comes_back():
                break
            # A new request of the same words: the first may hold half of what it read.
            request = WSGIRequest(request.environ)  # type: ignore[attr-defined]
            response = self.get_response(request)
        return response


def comes_back() -> bool:
    """Return whether the database answers again, soon enough for whoever waits."""
    end = time.monotonic() + PATIENCE
    while True:
        connection.close()
        try:
            connection.ensure_connection()
        except OperationalError:
            if time.monotonic() > end:
                return False
            time.sleep(PAUSE)
        else:
            return True
