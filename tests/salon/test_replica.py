"""Which database a page is read from; two real servers: tests/serving/test_replica.py.

Positions in the log: PostgreSQL 15, chapter 8.20, "pg_lsn Type".
"""

import datetime as dt
import logging
import time
from collections import deque
from collections.abc import Iterator
from contextlib import AbstractContextManager
from unittest import mock

import pytest
from django.db import DEFAULT_DB_ALIAS, OperationalError, connections
from django.http import HttpResponse
from django.test import RequestFactory

from clients.models import Client, ClientKey
from consult.models import Visit
from salon.models import AuditEvent, Staff
from salon.replica import on_primary, reading, router, standing
from salon.replica.standing import Standing

Router = router.ReplicaRouter


@pytest.fixture
def outside() -> Iterator[None]:
    """No transaction is open, as in a request; the tests' own do not count."""
    with mock.patch.object(connections[DEFAULT_DB_ALIAS], "in_atomic_block", False):
        yield


@pytest.fixture(autouse=True)
def unknown(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is known of the replica yet."""
    monkeypatch.setattr(standing, "_known", standing._Known(deque()))


def test_only_reads_that_were_sent_there_go_there(outside: None) -> None:
    assert Router().db_for_read(Visit) == "default"
    with router.reading_replica():
        assert Router().db_for_read(Visit) == "replica"
        assert Router().db_for_read(AuditEvent) == "replica"
        assert Router().db_for_write(Visit) == "default"
        assert on_primary(lambda: Router().db_for_read(Visit))() == "default"
        assert Router().db_for_read(Visit) == "replica"
    assert Router().db_for_read(Visit) == "default"


def test_who_may_and_the_keys_of_clients_are_never_read_there(outside: None) -> None:
    with router.reading_replica():
        assert {Router().db_for_read(model) for model in (Staff, ClientKey)} == {"default"}


def test_nothing_inside_of_a_transaction_is_read_there() -> None:
    with (
        router.reading_replica(),
        mock.patch.object(connections[DEFAULT_DB_ALIAS], "in_atomic_block", True),
    ):
        assert Router().db_for_read(Client) == "default"


@pytest.mark.parametrize(
    ("text", "number"), [("0/0", 0), ("16/B374D848", 0x16B374D848), ("", None), ("x/1", None)]
)
def test_a_position_is_a_number(text: str, number: int | None) -> None:
    assert standing.position(text) == number


def test_the_age_is_the_least_that_is_known() -> None:
    assert standing._age(7, 7, 9000.0) == dt.timedelta()  # a database that rests
    assert standing._age(6, 7, None) is None
    assert standing._age(6, 7, 30.0) == dt.timedelta(seconds=30)

    now = time.monotonic()
    standing._known.seen.extend([(now - 9, 5), (now - 4, 6), (now - 1, 7)])
    age = standing._age(6, 8, 30.0)
    assert age is not None
    assert dt.timedelta(seconds=4) <= age < dt.timedelta(seconds=9)


@pytest.fixture
def is_set(monkeypatch: pytest.MonkeyPatch) -> None:
    """The installation has a replica."""
    monkeypatch.setattr(standing, "is_set", lambda: True)


def _looks(found: Standing | Exception) -> AbstractContextManager[mock.MagicMock]:
    effect = found if isinstance(found, Exception) else [found] * 9
    return mock.patch.object(standing, "look", side_effect=effect)


def test_it_is_read_only_where_it_is_near_and_has_what_the_reader_wrote(
    is_set: None, caplog: pytest.LogCaptureFixture
) -> None:
    near = Standing(16, dt.timedelta(minutes=5))
    with _looks(near):
        assert standing.readable() == near
        assert standing.readable(written="0/10") == near
        assert standing.readable(written="0/11") is None
        assert standing.readable(written="what is this") is None
    assert not caplog.records

    with _looks(Standing(16, dt.timedelta(minutes=5, seconds=1))):
        assert standing.readable() is None
        assert standing.readable() is None
    assert [one.getMessage() for one in caplog.records] == [
        "The replica is not read: it is more than 5 minutes behind"
    ]
    caplog.clear()
    with caplog.at_level(logging.WARNING), _looks(near):
        assert standing.readable() == near
    assert [one.getMessage() for one in caplog.records] == ["The replica is read again."]


def test_without_one_nobody_is_asked() -> None:
    with _looks(Standing(1, dt.timedelta())) as look:
        assert standing.readable() is None
        assert standing.caught_up() is None
    look.assert_not_called()


def test_one_that_does_not_answer_is_left_alone_for_a_while(is_set: None) -> None:
    with _looks(standing.NoReplica("it does not answer")) as look:
        assert standing.readable() is None
        assert standing.readable() is None
    assert look.call_count == 1


def test_a_page_whose_query_fails_there_is_read_once_more(is_set: None, outside: None) -> None:
    request = RequestFactory().get("/")
    request.session = {}  # type: ignore[assignment]
    asked = []

    def view(request: object) -> HttpResponse:
        asked.append(Router().db_for_read(Visit))
        if asked[-1] == "replica":
            raise OperationalError("canceling statement due to conflict with recovery")
        return HttpResponse("read")

    with (
        mock.patch.object(standing, "look", return_value=Standing(1, dt.timedelta())),
        mock.patch.object(reading, "connections", {"replica": mock.Mock()}),
    ):
        answer = reading.reads_replica(view)(request)

    assert asked == ["replica", "default"]
    assert answer.content == b"read"  # type: ignore[attr-defined]
    assert request.figures_at is None  # type: ignore[attr-defined]


def test_a_form_on_such_a_page_is_never_read_there(outside: None) -> None:
    request = RequestFactory().post("/")
    with mock.patch.object(standing, "readable") as asked:
        reading.reads_replica(lambda _request: HttpResponse())(request)
    asked.assert_not_called()
