"""A sender is killed by SIGKILL while the mail server holds its second mail."""

import os
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from django.db import connection

ROOT = Path(__file__).resolve().parents[3]
COUNT = 4
FILL = f"""
import datetime as dt
from django.core.management import call_command
from django.utils import timezone
call_command("migrate", verbosity=0)
from clients.models import DeskPolicy
from tests.factories.clients import AppointmentFactory, ChairFactory, ClientFactory
from tests.factories.clients import ToneFactory
from tests.factories.salon import SalonFactory, StaffFactory
salon = SalonFactory(opens_at=dt.time(0), closes_at=dt.time(23, 55))
# Quiet is the hour that is farthest from the one in which the test runs.
far = timezone.localtime(timezone.now() + dt.timedelta(hours=12), salon.zone)
quiet = {{"quiet_from": far.time(), "quiet_until": (far + dt.timedelta(hours=1)).time()}}
DeskPolicy.objects.update_or_create(salon=salon, defaults=quiet)
cut = ToneFactory(salon=salon, is_colour=False)
start = timezone.now().replace(minute=0, second=0, microsecond=0) + dt.timedelta(hours=24)
for number in range({COUNT}):
    AppointmentFactory(
        client=ClientFactory(salon=salon, email=f"guest{{number}}@example.com"),
        service=cut,
        stylist=StaffFactory(salon=salon, has_column=True),
        chair=ChairFactory(salon=salon),
        starts_at=start,
    )
"""


@pytest.fixture
def manage(tmp_path: Path, salon_file: Path) -> Callable[..., subprocess.Popen[str]]:
    """Return a function that starts manage.py on a database file of its own."""
    environment = {
        **os.environ,
        "DATABASE_URL": f"sqlite:///{salon_file}",
        "DJANGO_SETTINGS_MODULE": "salon.settings",
        "EMAIL_BACKEND": "tests.clients.messages.slow_mail.Backend",
        "MAIL_FILE": str(tmp_path / "mails"),
        "SALON_MODE": "local",
        "SECRET_KEY": "tests-only-not-a-secret-tests-only-not-a-secret-0123",
    }

    def manage(*words: str, **more: str) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [sys.executable, "manage.py", *words],
            cwd=ROOT,
            env={**environment, **more},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )

    return manage


def _finish(process: subprocess.Popen[str]) -> None:
    told, _nothing = process.communicate()
    assert process.returncode == 0, told


def _mails(folder: Path) -> list[str]:
    path = folder / "mails"
    return path.read_text().splitlines() if path.exists() else []


def _states(folder: Path) -> list[str]:
    with sqlite3.connect(folder / "salon.sqlite3") as database:
        rows = database.execute("SELECT status FROM clients_reminder ORDER BY due_at, id")
        return [status for (status,) in rows]


@pytest.mark.slow
@pytest.mark.skipif(connection.vendor != "sqlite", reason="has an SQLite file of its own")
def test_a_killed_sender_leaves_one_in_doubt_and_none_goes_twice(
    manage: Callable[..., subprocess.Popen[str]], tmp_path: Path
) -> None:
    _finish(manage("shell", "--verbosity=0", "--command", FILL))
    sender = manage("send_reminders", HANG_AT="2")
    while len(_mails(tmp_path)) < 2 and sender.poll() is None:
        time.sleep(0.05)

    sender.send_signal(signal.SIGKILL)
    sender.communicate()

    assert sender.returncode == -signal.SIGKILL
    assert _states(tmp_path) == ["sent", "sending", "queued", "queued"]

    _finish(manage("send_reminders"))

    # The one in flight did go out, but nobody can know: the desk settles it by hand.
    assert _states(tmp_path) == ["sent", "sending", "sent", "sent"]
    assert len(_mails(tmp_path)) == len(set(_mails(tmp_path))) == COUNT
