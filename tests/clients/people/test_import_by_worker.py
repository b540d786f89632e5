"""An import is done by a worker: in pieces, to its end, also where workers are killed."""

import datetime as dt
from functools import partial

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connection
from django.test import Client as Browser
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult
from pytest_django import Settings

from clients import services, tasks
from clients.models import Client, ClientImport, ImportStatus
from clients.people import csv_file
from clients.services import importing
from salon.models import AuditEvent, Staff
from salon.work import lease
from tests.factories.salon import StaffFactory
from tests.typed import SignIn
from tests.workers import QUEUE, Workers, is_done

ROWS = 3_000
EVERY = 100  # of so many rows one is of somebody who is in the list already


@pytest.fixture
def of_a_thousand(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(importing, "PIECE", 1_000)


def _started(owner: Staff, now: dt.datetime, rows: int) -> ClientImport:
    # The last of each hundred comes a second time, some in the piece after.
    people = [number - (number % EVERY == 0 and number > 0) for number in range(rows)]
    names = "\r\n".join(f"Person {number};guest{number}@example.com" for number in people)
    table = csv_file.read(f"name;e-mail\r\n{names}\r\n".encode())
    found = services.load_import(file_name="list.csv", table=table, by=owner, at=now)
    services.start_import(loaded=found, mapping=found.mapping, by=owner, at=now)
    return found


@pytest.mark.slow
def test_killed_half_way_an_import_ends_complete_and_not_doubled(
    workers: Workers, now: dt.datetime
) -> None:
    found = _started(StaffFactory(role="owner"), now, ROWS)
    tasks.go_on_with_import.enqueue(found.pk, found.loaded_by_id)

    def is_past(position: int) -> bool:
        found.refresh_from_db()
        return found.position >= position

    # Killed as soon as a piece is kept: while it queues, marks or begins another.
    for piece in (1, 2):
        worker = workers.worker()
        workers.kill_where(partial(is_past, piece * 1000), worker)
        connection.close()
    last = workers.worker()
    workers.until(is_done, last)
    workers.stop(last)

    found.refresh_from_db()
    twice = list(range(EVERY, ROWS, EVERY))
    assert (found.status, found.position) == (ImportStatus.DONE, ROWS)
    assert found.added_count == ROWS - len(twice) == Client.objects.count()
    assert Client.objects.values("email").distinct().count() == found.added_count
    # By the number that a spreadsheet shows, below its header.
    assert [number for number, _why, _cells in found.refused] == [n + 2 for n in twice]
    assert found.duplicate_count == len(twice)
    assert AuditEvent.objects.filter(kind="import done").count() == 1


@pytest.mark.django_db
@pytest.mark.usefixtures("of_a_thousand")
def test_a_piece_done_twice_takes_nobody_in_twice(
    owner: Staff, now: dt.datetime, settings: Settings
) -> None:
    """As after a worker that was killed between its commit and its mark in the queue."""
    settings.TASKS = QUEUE
    found = _started(owner, now, 1_500)

    for _time in range(3):
        tasks.go_on_with_import.call(found.pk, owner.pk)

    found.refresh_from_db()
    assert (found.status, found.added_count) == (ImportStatus.DONE, 1_486)
    assert DBTaskResult.objects.count() == 1  # queued by the first piece; the second ended it


@pytest.mark.django_db
@pytest.mark.usefixtures("of_a_thousand")
def test_an_import_shows_how_far_it_is_and_stops_when_asked(
    owner: Staff, now: dt.datetime, settings: Settings, client_for: SignIn
) -> None:
    settings.TASKS = QUEUE
    boss: Browser = client_for(owner)
    found = _started(owner, now, 2_500)
    tasks.go_on_with_import.call(found.pk, owner.pk)

    page = " ".join(boss.get(f"/clients/imports/{found.pk}/").text.split())
    assert "1000 of 2500 rows" in page
    assert '<progress aria-labelledby="taking" max="2500" value="1000">' in page
    assert "991 clients were added. 9 rows were left out. 9 of them are clients" in page
    assert 'hx-trigger="every 2s"' in page
    assert "the background worker is not running" in page
    lease.renew("worker", seconds=60)
    assert "the background worker is not running" not in (
        boss.get(f"/clients/imports/{found.pk}/").text
    )

    page = boss.post(f"/clients/imports/{found.pk}/stop/", follow=True).text
    tasks.go_on_with_import.call(found.pk, owner.pk)

    assert "stopped after 1000 of 2500 rows" in page
    assert "991 clients were added." in page
    assert "1500 rows were not looked at." in page
    report = boss.get(f"/clients/imports/{found.pk}/refused.csv").getvalue().decode()
    assert len(report.splitlines()) == 10
    assert "Person 99;guest99@example.com;This person is already a client." in report
    assert "every 2s" not in page
    assert Client.objects.count() == 991
    boss.post(f"/clients/imports/{found.pk}/undo/")
    for _piece in range(2):
        tasks.go_on_with_import.call(found.pk, owner.pk)
    assert not Client.objects.exists()


@pytest.mark.django_db
@pytest.mark.usefixtures("of_a_thousand")
def test_who_may_no_longer_import_takes_nobody_in(
    owner: Staff, now: dt.datetime, settings: Settings
) -> None:
    settings.TASKS = QUEUE
    found = _started(owner, now, 10)
    Staff.objects.filter(pk=owner.pk).update(role="stylist")

    with pytest.raises(PermissionDenied):
        tasks.go_on_with_import.call(found.pk, owner.pk)

    assert not Client.objects.exists()


@pytest.mark.django_db
@pytest.mark.usefixtures("of_a_thousand")
def test_stopped_and_loaded_again_the_rest_is_taken_in_and_nobody_twice(
    owner: Staff, now: dt.datetime, settings: Settings
) -> None:
    settings.TASKS = QUEUE
    first = _started(owner, now, 1_800)
    tasks.go_on_with_import.call(first.pk, owner.pk)
    services.stop_import(taking=first, by=owner, at=now)

    again = _started(owner, now, 1_800)
    for _piece in range(2):
        tasks.go_on_with_import.call(again.pk, owner.pk)

    again.refresh_from_db()
    assert (again.added_count, again.duplicate_count) == (1_783 - 991, 991 + 17)
    assert Client.objects.count() == 1_783


@pytest.mark.django_db
@pytest.mark.usefixtures("of_a_thousand")
def test_after_a_fault_the_page_says_so_and_goes_on_once_however_often_it_is_pressed(
    owner: Staff, now: dt.datetime, settings: Settings, client_for: SignIn
) -> None:
    settings.TASKS = QUEUE
    boss: Browser = client_for(owner)
    found = _started(owner, now, 1_500)
    page = f"/clients/imports/{found.pk}/"
    assert "It has stopped because of a fault." in boss.get(page).text

    for _click in range(3):
        boss.post(f"{page}go-on/")

    assert DBTaskResult.objects.count() == 1
    assert "because of a fault" not in boss.get(page).text
    assert "Continue" not in boss.get(page).text
    DBTaskResult.objects.update(status=TaskResultStatus.FAILED)
    assert "It has stopped because of a fault." in boss.get(page).text
    boss.post(f"{page}go-on/")
    for _piece in range(2):
        tasks.go_on_with_import.call(found.pk, owner.pk)
    assert "1486 clients were added." in boss.get(page).text
