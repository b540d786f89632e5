"""Two bookings never share a stylist's hands or a chair, however many ask at once."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.db import connection

from tests.clients.diary import race

ROOT = Path(__file__).resolve().parents[3]


def _is_sound(result: dict[str, int]) -> None:
    assert result["overlaps"] == 0
    assert result["claims"] == result["claims_due"]
    assert result["booked"] > 0
    assert result["refused"] > 0
    assert not [key for key in result if key.startswith("error")], result


@pytest.mark.slow
@pytest.mark.skipif(connection.vendor != "sqlite", reason="has an SQLite file of its own")
def test_threads_on_a_sqlite_file_never_overlap(salon_file: Path) -> None:
    environment = {
        **os.environ,
        "DATABASE_URL": f"sqlite:///{salon_file}",
        "DJANGO_SETTINGS_MODULE": "salon.settings",
        "SALON_MODE": "local",
        "SECRET_KEY": "tests-only-not-a-secret-tests-only-not-a-secret-0123",
    }

    answer = subprocess.run(
        [sys.executable, "-m", "tests.clients.diary.race", "12", "5"],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )

    assert answer.returncode == 0, answer.stderr
    _is_sound(json.loads(answer.stdout))


@pytest.mark.slow
@pytest.mark.postgres
@pytest.mark.django_db(transaction=True)
@pytest.mark.skipif(connection.vendor != "postgresql", reason="needs PostgreSQL")
def test_threads_on_postgresql_never_overlap() -> None:
    _is_sound(race.run(threads=24, rounds=12))
