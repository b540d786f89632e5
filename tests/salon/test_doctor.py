"""Everything that an installation may lack is named, with what to do."""

import datetime as dt
import io
import json
import os
import subprocess
import sys
from collections import namedtuple
from pathlib import Path
from unittest import mock

import psycopg
import pytest
from django.core.management import call_command
from django.db import OperationalError, connection
from django.utils import timezone
from pytest_django import Settings

from salon.doctor import Weight, database, setup
from salon.management.commands.doctor import examine
from salon.models import Role, Salon, Staff, WorkerLease
from tests.factories.salon import StaffFactory
from tests.salon.doctor import of_subject, only, production

ROOT = Path(__file__).resolve().parents[2]
Usage = namedtuple("Usage", "total used free")
MB = 1024 * 1024
__all__ = ["production"]
SQLITE = connection.vendor == "sqlite"


@pytest.mark.django_db
def test_the_clock_is_compared_with_the_databases_and_with_the_record(
    production: Settings, owner: Staff, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert [one.weight for one in database.clock()] == [Weight.FINE]
    now = timezone.now()
    from salon import audit

    audit.record_event("salon founded", target=owner.salon, by=owner, at=now + dt.timedelta(1))
    only(list(database.clock()), Weight.WRONG, "later than now", "Set it right")

    monkeypatch.setattr(database, "database_now", lambda: now - dt.timedelta(minutes=7))
    sentences = [one.sentence for one in database.clock()]
    assert "differ by 420 seconds" in sentences[0]


@pytest.mark.django_db
@pytest.mark.skipif(SQLITE, reason="SQLite has no accounts")
def test_an_account_that_may_alter_what_was_signed_is_named() -> None:
    (found,) = database.account()

    assert found.weight is Weight.ODD
    assert "serving_account" in found.remedy


@pytest.mark.django_db
def test_a_database_that_is_away_or_behind_ends_the_examination(production: Settings) -> None:
    refused = OperationalError("connection refused")
    refused.__cause__ = psycopg.OperationalError("connection refused")
    with mock.patch.object(connection, "ensure_connection", side_effect=refused):
        only(list(database.reachable()), Weight.WRONG, "connection refused", "DATABASE_URL")
        assert not of_subject(list(examine()), "Clock")

    assert list(database.reachable()) == []
    with mock.patch(
        "django.db.migrations.executor.MigrationExecutor.migration_plan", return_value=[1, 2]
    ):
        only(list(database.reachable()), Weight.WRONG, "2 migrations", "manage.py migrate")


@pytest.mark.django_db
def test_what_django_checks_find_is_said_with_its_subject(production: Settings) -> None:
    production.EMAIL_BACKEND = "salon.mail.NoServer"
    production.STORAGE_KEY, production.STORAGE_KEY_FILE = "not a key", ""
    production.APPEND_ONLY_TRIGGERS = True  # which the tests' database has none of

    found = list(setup.checks())

    assert ("odd", "No mail server is set: no reminder and no card can be sent.") in of_subject(
        found, "Mail"
    )
    assert [weight for weight, _sentence in of_subject(found, "Keys")] == ["wrong"]
    guards = of_subject(found, "Guards")
    assert any("no_update is missing" in sentence for _weight, sentence in guards)
    production.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"
    assert [weight for weight, _s in of_subject(list(setup.checks()), "Mail")] == ["wrong"]


@pytest.mark.django_db
def test_an_unprinted_recovery_sheet_is_said(production: Settings, owner: Staff) -> None:
    with (
        mock.patch("clients.sealed.recovery.is_in_use", return_value=True),
        mock.patch("clients.sealed.recovery.try_newest"),
    ):
        found = of_subject(list(setup.checks()), "Keys")

    assert [weight for weight, sentence in found if "recovery sheet" in sentence] == ["odd"]


def test_a_proxy_that_is_not_counted_is_wrong(production: Settings) -> None:
    assert [one.weight for one in setup.proxy()] == [Weight.FINE]
    production.PROXY_COUNT = 0

    only(list(setup.proxy()), Weight.WRONG, "PROXY_COUNT is 0", "PROXY_COUNT")


@pytest.mark.parametrize(
    ("hosts", "site", "words"),
    [
        (["*"], "https://salon.example", "takes any name"),
        (["salon.example"], "http://salon.example", "begin with http://"),
        (["salon.example"], "https://other.example", "does not name"),
    ],
)
def test_addresses_that_lead_elsewhere_are_named(
    production: Settings, hosts: list[str], site: str, words: str
) -> None:
    production.ALLOWED_HOSTS, production.SITE_URL = hosts, site

    sentences = [one.sentence for one in setup.addresses() if one.weight is not Weight.FINE]

    assert any(words in sentence for sentence in sentences)


def test_a_demo_is_called_one(settings: Settings) -> None:
    settings.MODE = "local"

    only(list(setup.addresses()), Weight.ODD, "SALON_MODE is local", "SALON_MODE=production")


@pytest.mark.django_db
def test_what_a_salon_has_not_said_of_itself_is_named(production: Settings) -> None:
    only(list(setup.salons()), Weight.WRONG, "no salon yet", "found_salon")
    salon = Salon.objects.create(name="Corner House")

    found = [one.sentence for one in setup.salons()]

    for words in (
        "a phone number",
        "an address",
        "time zone",
        "e-mail address",
        "no owner who",
    ):
        assert any(words in sentence for sentence in found), words
    Salon.objects.update(
        phone="020 7946 0958", address="1 High Street", time_zone="Europe/Paris"
    )
    StaffFactory(salon=salon, role=Role.OWNER, email="ada@example.com")
    assert list(setup.salons()) == []


@pytest.mark.django_db
def test_a_worker_that_is_not_seen_is_wrong(production: Settings) -> None:
    only(list(setup.worker()), Weight.WRONG, "No worker was ever seen", "manage.py worker")

    now = timezone.now()
    lease = WorkerLease.objects.create(
        name="one", started_at=now, seen_at=now, until=now + dt.timedelta(minutes=1)
    )
    assert [one.weight for one in setup.worker()] == [Weight.FINE]
    WorkerLease.objects.filter(pk=lease.pk).update(until=now - dt.timedelta(hours=1))
    only(list(setup.worker()), Weight.WRONG, "No worker was seen since", "manage.py worker")


@pytest.mark.django_db
def test_a_watcher_reads_json_and_the_exit_code(production: Settings) -> None:
    out = io.StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("doctor", json=True, stdout=out)

    found = json.loads(out.getvalue())
    assert ended.value.code == 1
    assert {"subject", "weight", "sentence", "remedy"} == set(found[0])
    assert all(one["remedy"] for one in found if one["weight"] != "fine")
    plain = io.StringIO()
    with pytest.raises(SystemExit):
        call_command("doctor", stdout=plain)
    assert (
        plain.getvalue()
        .splitlines()[-1]
        .startswith(f"{sum(one['weight'] == 'wrong' for one in found)} wrong, ")
    )


@pytest.mark.slow
@pytest.mark.skipif(not SQLITE, reason="has an SQLite file of its own")
def test_in_production_it_reads_an_installation_as_a_process(
    salon_file: Path, tmp_path: Path
) -> None:
    """The way whoever runs the server asks it: an own process, a bare environment."""
    done = subprocess.run(
        [sys.executable, "manage.py", "doctor"],
        cwd=ROOT,
        env={
            "PATH": os.environ["PATH"],
            "SALON_MODE": "production",
            "SECRET_KEY": os.environ["SECRET_KEY"],
            "SIGNING_KEY": os.environ["SIGNING_KEY"],
            "STORAGE_KEY": os.environ["STORAGE_KEY"],
            "ALLOWED_HOSTS": "salon.example",
            "DATABASE_URL": f"sqlite:///{salon_file}",
            "VAR_DIR": str(tmp_path / "var"),
        },
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode == 1, done.stderr
    for words in (
        "WRONG Proxy: ",
        "WRONG Static files: ",
        "WRONG Salon: There is no salon yet.",
        "WRONG Worker: No worker was ever seen",
        "odd   Mail: No mail server is set",
        "odd   Backup: ",
        "WRONG Guards: The trigger",
        "ok    Clock: ",
        "ok    Address: https://salon.example",
    ):
        assert words in done.stdout, (words, done.stdout)
    assert " wrong, " in done.stdout.splitlines()[-1]
