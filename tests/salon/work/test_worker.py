"""The worker as a process: it ends what it has in hand, and what it lost is taken up again."""

import os
import signal
from pathlib import Path

import pytest
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from salon.models import TimetableEntry, WorkerLease
from salon.work import timetable
from tests.salon.work import probes
from tests.workers import Workers, is_done

pytestmark = pytest.mark.slow


def _lines(path: Path) -> list[str]:
    return path.read_text().splitlines() if path.exists() else []


def test_asked_to_stop_it_ends_the_task_in_hand_and_begins_no_other(
    workers: Workers, tmp_path: Path
) -> None:
    path = tmp_path / "lines"
    probes.hold.enqueue(str(path))
    probes.hold.enqueue(str(path))
    worker = workers.worker()
    workers.until(lambda: _lines(path) == ["began"], worker)

    worker.send_signal(signal.SIGTERM)
    Path(f"{path}.go").touch()

    assert worker.wait() == 0, workers.said()
    assert _lines(path) == ["began", "ended"]
    assert DBTaskResult.objects.successful().count() == 1
    assert DBTaskResult.objects.ready().count() == 1
    assert not WorkerLease.objects.filter(until__gt=timezone.now()).exists()


def test_a_worker_with_nothing_to_do_is_stopped_as_soon_as_it_is_up(workers: Workers) -> None:
    workers.stop(workers.worker())

    assert not WorkerLease.objects.filter(until__gt=timezone.now()).exists()


def test_a_long_task_holds_no_quick_one_up(workers: Workers, tmp_path: Path) -> None:
    path = tmp_path / "lines"
    probes.hold.enqueue(str(path))
    worker = workers.worker()
    workers.until(lambda: _lines(path) == ["began"], worker)

    probes.note.enqueue(str(path), "quick")
    workers.until(lambda: _lines(path) == ["began", "quick"], worker)

    Path(f"{path}.go").touch()
    workers.until(is_done, worker)
    workers.stop(worker)


def test_what_a_killed_worker_had_in_hand_is_done_by_another(
    workers: Workers, tmp_path: Path
) -> None:
    path = tmp_path / "lines"
    probes.hold.enqueue(str(path))
    first = workers.worker()
    workers.until(lambda: _lines(path) == ["began"], first)

    workers.kill(first)
    assert DBTaskResult.objects.running().count() == 1  # as the library leaves it
    Path(f"{path}.go").touch()
    second = workers.worker()
    workers.until(is_done, second)
    workers.stop(second)

    assert _lines(path) == ["began", "began", "ended"]
    assert len(set(DBTaskResult.objects.get().worker_ids)) == 2


def test_several_workers_do_the_timetable_once(workers: Workers) -> None:
    often = {job.name for job in timetable.jobs() if job.every}
    several = [workers.worker("--interval", "0.2") for _number in range(3)]

    workers.until(
        lambda: (
            TimetableEntry.objects.filter(name__in=often, ended_at=None).count() == 0
            and TimetableEntry.objects.count() >= len(often)
        ),
        *several,
    )
    workers.until(lambda: WorkerLease.objects.count() == len(several), *several)
    for worker in several:
        workers.stop(worker)

    done = [task.args_kwargs["args"][0] for task in DBTaskResult.objects.all()]
    assert sorted(done) == sorted(often)
    assert is_done()


def test_a_web_service_of_a_demo_brings_its_worker_and_takes_it_along(workers: Workers) -> None:
    def web() -> list[str]:
        command = ["-m", "gunicorn", "salon.wsgi", "-c", "salon/gunicorn.py"]
        return [*command, "--bind", "127.0.0.1:0", "--workers", "1"]

    def is_seen() -> bool:
        return WorkerLease.objects.filter(until__gt=timezone.now()).exists()

    def is_gone() -> bool:
        try:
            os.kill(int(WorkerLease.objects.get().name.split("-")[-2]), 0)
        except ProcessLookupError:
            return True
        return False

    for end in (workers.stop, workers.kill):
        service = workers.start(*web(), WITH_WORKER="true")
        workers.until(is_seen, service)
        end(service)
        workers.until(is_gone)
        assert not is_seen()
        WorkerLease.objects.all().delete()
