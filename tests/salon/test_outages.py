"""A database that is away and a full disk are said in words; a page is read once more."""

import errno
import sqlite3
import sys
from unittest import mock

import psycopg
import pytest
from django.db import OperationalError
from django.http import HttpRequest, HttpResponse
from django.test import Client as Browser
from django.test import RequestFactory

from salon import failures, outages
from salon.models import Staff
from tests.typed import SignIn


def _from(cause: BaseException) -> OperationalError:
    error = OperationalError(str(cause))
    error.__cause__ = cause
    return error


def _sqlite(code: int) -> OperationalError:
    cause = sqlite3.OperationalError("as SQLite says it")
    cause.sqlite_errorcode = code
    return _from(cause)


class _Stopped(psycopg.OperationalError):
    sqlstate = "57P01"  # admin_shutdown, PostgreSQL's appendix A


class _Full(psycopg.OperationalError):
    sqlstate = "53100"  # disk_full


class _Cancelled(psycopg.OperationalError):
    sqlstate = "57014"  # query_canceled: no outage


@pytest.mark.parametrize(
    ("error", "is_away", "is_full"),
    [
        (_from(psycopg.OperationalError("connection refused")), True, False),
        (_from(psycopg.InterfaceError("the connection is closed")), True, False),
        (_from(_Stopped()), True, False),
        (_from(_Cancelled()), False, False),
        (_from(_Full()), False, True),
        (_sqlite(sqlite3.SQLITE_BUSY), True, False),
        (_sqlite(sqlite3.SQLITE_FULL), False, True),
        (_sqlite(sqlite3.SQLITE_ERROR), False, False),  # no such table
        (OSError(errno.ENOSPC, "No space left on device"), False, True),
        (OSError(errno.EACCES, "Permission denied"), False, False),
        (ValueError("a fault of the product"), False, False),
        (None, False, False),
    ],
)
def test_outages_are_told_from_faults(
    error: BaseException | None, is_away: bool, is_full: bool
) -> None:
    assert outages.is_away(error) is is_away
    assert outages.is_full_disk(error) is is_full


@pytest.fixture
def browser(client_for: SignIn, owner: Staff) -> Browser:
    found = client_for(owner)
    found.raise_request_exception = False
    return found


@pytest.fixture
def back(monkeypatch: pytest.MonkeyPatch) -> mock.Mock:
    """Say whether the database came back; the tests' own connection stays as it is."""
    found = mock.Mock(return_value=True)
    monkeypatch.setattr(outages, "comes_back", found)
    return found


def test_a_page_is_read_again_once_the_database_is_back(
    browser: Browser, back: mock.Mock
) -> None:
    from salon import selectors

    once = mock.Mock(side_effect=[_from(_Stopped()), *[mock.DEFAULT] * 9], wraps=selectors.team)
    with mock.patch("salon.selectors.team", once):
        answer = browser.get("/salon/")

    assert answer.status_code == 200
    assert once.call_count == 2


def test_a_database_that_stays_away_is_said_in_words(browser: Browser, back: mock.Mock) -> None:
    back.return_value = False
    with mock.patch("salon.selectors.team", side_effect=_from(_Stopped())):
        answer = browser.get("/salon/")

    assert answer.status_code == 503
    assert answer.headers["Retry-After"] == "5"
    assert "The database does not answer" in answer.text
    assert "Nothing was lost" in answer.text


@pytest.mark.parametrize(("method", "asked"), [("get", 3), ("head", 3), ("post", 1)])
def test_what_would_write_is_not_sent_twice(method: str, asked: int, back: mock.Mock) -> None:
    seen = []

    def answer(request: HttpRequest) -> HttpResponse:
        seen.append(request)
        request.is_without_database = True  # type: ignore[attr-defined]
        return HttpResponse(status=503)

    request = getattr(RequestFactory(), method)("/salon/details/")
    outages.OutageMiddleware(answer)(request)

    assert len(seen) == len(set(map(id, seen))) == asked


def test_a_change_that_may_be_lost_is_said_to_be_uncertain() -> None:
    with mock.patch.object(sys, "exc_info", return_value=(None, _from(_Stopped()), None)):
        answer = failures.server_error(RequestFactory().post("/clients/new/"))

    assert answer.status_code == 503
    assert "not certain that the last step was saved" in answer.content.decode()


def test_a_full_disk_is_said_in_words(browser: Browser) -> None:
    with mock.patch("salon.selectors.team", side_effect=_sqlite(sqlite3.SQLITE_FULL)):
        answer = browser.get("/salon/")

    assert answer.status_code == 507  # RFC 4918, insufficient storage
    assert "disk is full" in answer.text
