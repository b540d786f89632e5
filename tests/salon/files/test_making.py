"""The worker makes a file whole or not at all, however often it is killed or stopped."""

import datetime as dt
from collections.abc import Callable
from typing import IO

import pytest
from django.test import Client as Browser
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from clients.models import Client
from salon.files import kinds, making, services, store, tidying
from salon.files.kinds import FileRequest
from salon.files.pieces import in_pieces
from salon.files.progress import Progress
from salon.models import FileState, PreparedFile
from tests.salon.files.asking import NAMES, PAGE, ask, change_kind, fetched, names, stored


@pytest.mark.parametrize("rows_before", [0, 5, 12])
def test_a_worker_killed_at_it_leaves_nothing_half_and_another_makes_it_whole(
    boss: Browser, queued: None, monkeypatch: pytest.MonkeyPatch, rows_before: int
) -> None:
    whole = kinds.of("clients_csv").write

    class Killed(BaseException):
        """Goes through every handler, as a kill goes through none."""

    def killed(wanted: FileRequest, out: IO[bytes], progress: Progress) -> None:
        out.write(b"half a file")
        progress.add(rows_before)
        raise Killed

    file = ask(boss)
    change_kind(monkeypatch, write=killed)
    with pytest.raises(Killed):
        making.make_file.call(file.pk)
    file.refresh_from_db()
    assert (file.state, file.stored, stored()) == (FileState.RUNNING, "", [])

    change_kind(monkeypatch, write=whole)
    making.make_file.call(file.pk)
    making.make_file.call(file.pk)  # as after a kill between the row and the queue's mark

    file.refresh_from_db()
    assert (file.state, file.turn, stored()) == (FileState.DONE, 2, [file.stored])
    assert names(fetched(boss, file)) == NAMES


def test_what_a_worker_stored_and_could_not_name_is_swept(
    boss: Browser, queued: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Killed(BaseException):
        pass

    def killed(*_arguments: object) -> None:
        raise Killed

    file = ask(boss)
    with monkeypatch.context() as patched:
        patched.setattr(making, "_keep", killed)
        with pytest.raises(Killed):
            making.make_file.call(file.pk)
    making.make_file.call(file.pk)
    file.refresh_from_db()
    assert len(stored()) == 2

    tidying.tidy()
    assert len(stored()) == 2  # it may be of a turn that goes on
    monkeypatch.setattr(tidying, "STRAY_AFTER", -dt.timedelta(minutes=1))
    tidying.tidy()

    assert stored() == [file.stored]


@pytest.mark.parametrize("is_other_turn", [False, True])
def test_cancelled_or_taken_over_it_ends_and_keeps_nothing(
    boss: Browser, queued: None, monkeypatch: pytest.MonkeyPatch, is_other_turn: bool
) -> None:
    file = ask(boss)

    def interrupted(wanted: FileRequest, out: IO[bytes], progress: Progress) -> None:
        if is_other_turn:
            PreparedFile.objects.filter(pk=file.pk).update(turn=9)
        else:
            assert boss.post(f"{PAGE}{file.pk}/cancel/").status_code == 302
        progress.add()
        raise AssertionError("it went on")

    change_kind(monkeypatch, write=interrupted)
    making.make_file.call(file.pk)

    file.refresh_from_db()
    assert file.state == (FileState.RUNNING if is_other_turn else FileState.CANCELLED)
    assert stored() == []
    if not is_other_turn:
        assert "Cancelled." in boss.get(PAGE).text
        making.make_file.call(file.pk)
        assert stored() == []


def test_cancelled_while_it_was_stored_it_is_deleted(
    boss: Browser, queued: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    file, put = ask(boss), store.put

    def late(row: PreparedFile, content: IO[bytes]) -> str:
        kept = put(row, content)
        services.cancel_file(file=row, by=row.requested_by, at=row.requested_at)
        return kept

    monkeypatch.setattr(store, "put", late)
    making.make_file.call(file.pk)

    assert stored() == []


def test_an_erasure_begins_what_is_being_made_again(
    boss: Browser, queued: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    file, put = ask(boss), store.put

    def late(row: PreparedFile, content: IO[bytes]) -> str:
        kept = put(row, content)
        services.end_files(salon=row.salon, at=row.requested_at)
        return kept

    with monkeypatch.context() as patched:
        patched.setattr(store, "put", late)
        making.make_file.call(file.pk)
    file.refresh_from_db()
    assert (file.state, file.stored, stored()) == (FileState.WAITING, "", [])

    making.make_file.call(file.pk)

    file.refresh_from_db()
    assert file.state == FileState.DONE
    assert stored() == [file.stored]


def test_a_fault_is_said_and_can_be_tried_again(
    boss: Browser, queued: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = kinds.of("clients_csv").write

    def broken(wanted: FileRequest, out: IO[bytes], progress: Progress) -> None:
        raise OSError("no room")

    file = ask(boss)
    change_kind(monkeypatch, write=broken)
    with pytest.raises(OSError, match="no room"):
        making.make_file.call(file.pk)

    page = boss.get(PAGE).text
    assert "It could not be prepared." in page
    assert "Something went wrong." in page
    assert "Try again" in page
    change_kind(monkeypatch, write=whole)
    boss.post(f"{PAGE}{file.pk}/again/")
    making.make_file.call(PreparedFile.objects.latest("pk").pk)
    assert "Download the file" in boss.get(PAGE).text


def test_a_file_whose_workers_all_died_is_said_to_be_failed(
    boss: Browser, queued: None
) -> None:
    file = ask(boss)
    tidying.tidy()
    file.refresh_from_db()
    assert file.state == FileState.WAITING
    DBTaskResult.objects.update(status=TaskResultStatus.FAILED)

    tidying.tidy()

    file.refresh_from_db()
    assert (file.state, file.fault) == (FileState.FAILED, "worker")
    assert "The background worker stopped" in boss.get(PAGE).text


def test_long_tables_are_read_in_short_queries_in_order(
    boss: Browser, django_assert_num_queries: Callable[..., object]
) -> None:
    rows = Client.objects.order_by("-search_name")
    with django_assert_num_queries(4):  # type: ignore[attr-defined]
        found = [client.name for client in in_pieces(rows, size=5)]

    assert found == list(reversed(NAMES))
