"""Workers as processes of their own, on a database of their own beside the suite's."""

import contextlib
import os
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

from django.conf import settings
from django.db import connection
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from tests.project.upgrade.databases import Databases, as_default

ROOT = Path(__file__).resolve().parent.parent
LEASE = "1"  # seconds: a killed worker's tasks are taken up soon
QUEUE = {
    "default": {
        "BACKEND": "django_tasks_db.DatabaseBackend",
        "QUEUES": settings.TASKS["default"]["QUEUES"],
    }
}


class Workers:
    """Starts processes of the product on one database, and ends those that still run."""

    def __init__(self, url: str, folder: Path) -> None:
        self.url, self.folder = url, folder
        self._started: list[subprocess.Popen[bytes]] = []

    def start(self, *command: str, **more: str) -> subprocess.Popen[bytes]:
        """Start a command with the product's own settings; what it says goes into a file."""
        environment = {
            **os.environ,
            "DATABASE_URL": self.url,
            "DJANGO_SETTINGS_MODULE": "salon.settings",
            "MEDIA_ROOT": str(settings.MEDIA_ROOT),
            "SALON_MODE": "local",
            "WITH_WORKER": "false",
            **more,
        }
        with (self.folder / f"said-{len(self._started)}").open("wb") as said:
            process = subprocess.Popen(
                [sys.executable, *command], cwd=ROOT, env=environment, stdout=said, stderr=said
            )
        self._started.append(process)
        return process

    def worker(self, *words: str, **more: str) -> subprocess.Popen[bytes]:
        """Start a worker; without a word it minds the queue only."""
        words = words or ("--no-timetable",)
        return self.start(
            "manage.py", "worker", "--lease", LEASE, "--interval", "0.05", *words, **more
        )

    def until(self, holds: Callable[[], object], *processes: subprocess.Popen[bytes]) -> None:
        """Wait until something holds; a process that ends before is a failure."""
        while not holds():
            for process in processes:
                assert process.poll() is None, self.said()
            time.sleep(0.05)

    def kill_where(self, holds: Callable[[], object], process: subprocess.Popen[bytes]) -> None:
        """Kill a process as soon as something holds, before it gets much further."""
        while not holds():
            assert process.poll() is None, self.said()
            time.sleep(0.002)
        self.kill(process)

    def kill(self, process: subprocess.Popen[bytes]) -> None:
        """Kill a process as a crash would."""
        process.kill()
        assert process.wait() == -signal.SIGKILL

    def stop(self, process: subprocess.Popen[bytes]) -> None:
        """Ask a process to stop as soon as it hears of it, and see that it ends well."""
        self.until(lambda: _hears(process, signal.SIGTERM), process)
        process.terminate()
        assert process.wait() == 0, self.said()

    def said(self) -> str:
        """Return what the processes have said."""
        return "\n".join(file.read_text() for file in sorted(self.folder.glob("said-*")))

    def end(self) -> None:
        """Kill what still runs."""
        for process in self._started:
            if process.poll() is None:
                process.kill()
            process.wait()


def _hears(process: subprocess.Popen[bytes], number: signal.Signals) -> bool:
    """Return whether a process has a handler for a signal; while it starts it has none."""
    status = Path(f"/proc/{process.pid}/status").read_text()
    caught = next(line for line in status.splitlines() if line.startswith("SigCgt:"))
    return bool(int(caught.split()[1], 16) >> (number - 1) & 1)


def is_done() -> bool:
    """Return whether every queued task has ended well; one that failed is a failure."""
    for task in DBTaskResult.objects.failed():
        raise AssertionError(task.traceback)
    return not DBTaskResult.objects.exclude(status=TaskResultStatus.SUCCESSFUL).exists()


@contextlib.contextmanager
def own_database(folder: Path) -> Iterator[Workers]:
    """Make a copy of the suite's database the default one, for processes to work on too."""
    made = Databases(folder)
    if connection.vendor == "sqlite":
        name = made.make("own.sqlite3")
        with closing(sqlite3.connect(name)) as file:
            connection.ensure_connection()
            connection.connection.backup(file)
        url = f"sqlite:///{name}"
    else:
        known = connection.settings_dict
        name = made.make("own", like=str(known["NAME"]))
        login = f"{known['USER']}:{known['PASSWORD']}@{known['HOST']}:{known['PORT'] or 5432}"
        url = f"postgres://{login}/{name}"
    workers = Workers(url, folder)
    try:
        with as_default(name):
            try:
                yield workers
            finally:
                workers.end()
    finally:
        made.drop_all()
