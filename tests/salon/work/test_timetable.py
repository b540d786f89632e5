"""The timetable and the leases: each job once, a living worker's task is its own."""

import datetime as dt
import io
from pathlib import Path

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult
from pytest_django import Settings

from salon.models import Salon, Staff, StaffSession, TimetableEntry, WorkerLease
from salon.work import lanes, lease, nightly, status, timetable
from salon.work.timetable import Job
from tests.salon.work import probes
from tests.typed import SignIn, present
from tests.workers import QUEUE

pytestmark = pytest.mark.django_db
NOW = dt.datetime(2026, 11, 2, 12, 0, tzinfo=dt.UTC)


@pytest.fixture
def queue(settings: Settings) -> None:
    """The product's own queue: what is queued waits for a worker."""
    settings.TASKS = QUEUE


@pytest.fixture
def ran(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """A timetable of one job, every hour, and what it did."""
    done: list[str] = []
    job = Job("probe", "Probe", lambda: done.append("probe"), every=dt.timedelta(hours=1))
    monkeypatch.setattr(timetable, "_jobs", {"probe": job})
    return done


def _taken_by(worker: str) -> DBTaskResult[..., None]:
    probes.note.enqueue("nowhere", "word")
    task = DBTaskResult.objects.latest("enqueued_at")
    task.claim(lease.holder(worker, lanes.QUICK))
    return task


def test_lanes_are_the_queues_of_the_settings(settings: Settings) -> None:
    assert list(lanes.LANES) == settings.TASKS["default"]["QUEUES"]


def test_a_task_is_taken_from_a_worker_only_once_its_lease_is_over(queue: None) -> None:
    lease.renew("first", seconds=60)
    task = _taken_by("first")

    assert lease.take_up_again() == 0
    lease.end("first")
    assert lease.take_up_again() == 1

    task.refresh_from_db()
    assert task.status == TaskResultStatus.READY
    assert lease.take_up_again() == 0


def test_a_task_of_nobody_known_is_taken_up(queue: None) -> None:
    _taken_by("never seen")

    assert lease.take_up_again() == 1


def test_a_task_that_kills_each_worker_is_given_up(queue: None) -> None:
    task = _taken_by("worker")
    for _try in range(lease.MOST_TRIES - 1):
        assert lease.take_up_again() == 1
        task.refresh_from_db()
        task.claim(lease.holder("worker", lanes.QUICK))

    assert lease.take_up_again() == 1

    task.refresh_from_db()
    assert (task.status, task.exception_class_path) == (TaskResultStatus.FAILED, lease.LOST)


def test_a_job_is_queued_when_it_is_due_and_not_beside_itself(
    queue: None, ran: list[str]
) -> None:
    with time_machine.travel(NOW, tick=False) as clock:
        assert timetable.queue_due() == ["probe"]
        assert timetable.queue_due() == []
        clock.shift(dt.timedelta(hours=1))
        assert timetable.queue_due() == []  # the first one still waits
        DBTaskResult.objects.get().set_successful(None)
        clock.shift(dt.timedelta(hours=1))
        assert timetable.queue_due() == ["probe"]

    assert DBTaskResult.objects.count() == 2
    assert ran == []  # a worker does it


def test_a_job_of_the_night_is_done_by_the_salons_clock(salon: Salon) -> None:
    salon.time_zone = "Europe/Dublin"
    salon.save()
    job = Job("night", "Night", lambda: None, at=dt.time(2, 40))

    assert job.first_due(NOW) == dt.datetime(2026, 11, 3, 2, 40, tzinfo=dt.UTC)
    summer = dt.datetime(2026, 7, 1, 1, 39, tzinfo=dt.UTC)  # 02:39 there
    assert job.next_due(summer) == dt.datetime(2026, 7, 1, 1, 40, tzinfo=dt.UTC)


def test_what_came_of_a_job_is_kept_and_shown_to_the_owner(
    queue: None, monkeypatch: pytest.MonkeyPatch, client_for: SignIn, owner: Staff
) -> None:
    def refuse() -> None:
        raise CommandError("The folder is full.")

    job = Job("probe", "Probe", refuse, every=dt.timedelta(hours=1))
    monkeypatch.setattr(timetable, "_jobs", {"probe": job})
    timetable.queue_due()
    page = client_for(owner).get("/salon/work/").text
    assert "The worker has never run here" in page
    assert "1 task waits" in page

    timetable.run_job.call("probe")
    lease.renew("worker", seconds=60)

    page = client_for(owner).get("/salon/work/").text
    assert "The folder is full." in page
    assert "The worker has never run here" not in page


def test_a_watcher_is_told_of_a_worker_that_is_gone(queue: None) -> None:
    assert status.for_a_watcher()["worker"] == "not seen"
    lease.renew("worker", seconds=60)
    assert status.for_a_watcher()["worker"] == "running"
    lease.end("worker")
    _taken_by("worker")
    found = status.for_a_watcher()

    assert (found["worker"], found["running"], found["waiting"]) == ("gone", 1, 0)


@pytest.mark.django_db(transaction=True)
def test_the_night_backs_up_and_lets_old_backups_go(
    salon: Salon, settings: Settings, tmp_path: Path
) -> None:
    assert not nightly.has_folder()
    settings.BACKUP_DIR, settings.MEDIA_ROOT = str(tmp_path / "backups"), tmp_path / "media"
    assert nightly.has_folder()
    folder = tmp_path / "backups"
    folder.mkdir()
    old, foreign = folder / "salon-20200101T000000Z.closed", folder / "letter.txt"
    for file in (old, folder / f"{old.name}.photos.tar", foreign):
        file.touch()

    nightly.back_up()

    made = sorted(file.name for file in folder.iterdir() if file != foreign)
    assert [name.partition(".")[2] for name in made] == ["closed", "closed.photos.tar"]
    assert foreign.exists()
    assert nightly.newest_backup()
    for file in folder.glob("salon-*"):
        file.unlink()
    call_command("backup", stdout=io.StringIO())
    assert nightly.newest_backup(), "made by hand, it counts as well"


def test_the_night_deletes_what_served_its_turn(queue: None, now: dt.datetime) -> None:
    old = now - dt.timedelta(days=40)
    for word in ("old", "new"):
        probes.note.enqueue("nowhere", word)
    DBTaskResult.objects.update(status=TaskResultStatus.SUCCESSFUL, finished_at=now)
    first = present(DBTaskResult.objects.first())
    DBTaskResult.objects.filter(pk=first.pk).update(finished_at=old)
    StaffSession.objects.create(session_key="a", session_data="", expire_date=old)
    WorkerLease.objects.create(name="w", started_at=old, seen_at=old, until=old)

    nightly.tidy()

    assert DBTaskResult.objects.count() == 1
    assert not StaffSession.objects.exists()
    assert not WorkerLease.objects.exists()


def test_a_job_of_a_release_that_is_gone_is_let_be() -> None:
    timetable.run_job.call("never was")

    assert not TimetableEntry.objects.exists()
