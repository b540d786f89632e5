"""Fixtures that every test may use: a salon, one person per role, the moment."""

import datetime as dt
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.dispatch import receiver
from django.test import Client as Browser
from django.utils import timezone, translation
from django_tasks import TaskResultStatus
from django_tasks.signals import task_finished
from hypothesis import settings as hypothesis_settings
from pytest_django import Settings

from salon import triggers
from salon.models import Role, Salon, Staff
from salon.tablet import sitting
from tests.factories.salon import SalonFactory, StaffFactory
from tests.typed import SignIn
from tests.workers import QUEUE, Workers, own_database

# A busy machine is no fault of the code: no test has a time limit.
hypothesis_settings.register_profile("patient", deadline=None)
hypothesis_settings.load_profile("patient")


# Minutes each: begun last, they would be waited for by everything else.
LONGEST = (
    "tests/browser/pages/test_every_page.py",
    "tests/project/upgrade/",
    "tests/fuzz/test_views.py",
    "tests/project/test_crawl.py",
    "tests/consult/test_backups.py",
)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with what takes longest; the rest stays in its chance order."""
    items.sort(key=lambda item: not item.nodeid.startswith(LONGEST))


@pytest.fixture(scope="session")
def django_db_use_migrations() -> bool:
    """Build the tests' database from the models: a minute less for each worker.

    The migrations have their own tests in `tests/project/upgrade`; `make check` holds models
    and migrations together.
    """
    return False


@pytest.fixture(scope="session")
def served_database() -> str:
    """The database that the settings name, which no test may touch."""
    return str(connection.settings_dict["NAME"])


@pytest.fixture(scope="session")
def django_db_setup(
    served_database: str, django_db_setup: None, django_db_blocker: Any
) -> None:
    """Note every migration as applied, and add what only a migration adds."""
    settings.MIGRATION_MODULES = {}
    if connection.settings_dict["NAME"] == served_database:
        return  # of the tests that run none asks for a database of the suite's own
    with django_db_blocker.unblock():
        recorder = MigrationRecorder(connection)
        recorder.ensure_schema()
        applied = recorder.applied_migrations()
        loader = MigrationLoader(connection)
        for app, name in sorted(set(loader.disk_migrations) - set(applied)):
            recorder.record_applied(app, name)
        if connection.vendor == "postgresql":
            no_overlap = import_module("clients.migrations.0011_no_overlap")
            with connection.schema_editor() as editor:
                no_overlap.add(None, editor)


@pytest.fixture
def salon_file(django_db_setup: None, django_db_blocker: Any, tmp_path: Path) -> Path:
    """An SQLite file with the schema of today and no row, for a process of its own.

    Its own `migrate` then has only the guards to add: applying every migration takes longer
    than most tests.
    """
    path = tmp_path / "salon.sqlite3"
    with django_db_blocker.unblock(), closing(sqlite3.connect(path)) as file:
        connection.ensure_connection()
        connection.connection.backup(file)
    return path


@pytest.fixture
def workers(transactional_db: None, tmp_path: Path, settings: Settings) -> Iterator[Workers]:
    """The product's own queue, on a database that processes share with the test."""
    settings.TASKS = QUEUE
    with own_database(tmp_path) as found:
        yield found


@receiver(task_finished)
def fail_with_a_task(sender: object, task_result: Any, **kwargs: object) -> None:
    """Let a task that fails where it is queued fail its test, as a call would."""
    if task_result.status == TaskResultStatus.FAILED:
        raise AssertionError(task_result.errors[0].traceback)


@pytest.fixture
def now() -> dt.datetime:
    """The moment, whole seconds."""
    return timezone.now().replace(microsecond=0)


@pytest.fixture(autouse=True)
def own_language() -> Iterator[None]:
    """Leave no language behind: a page read in German keeps its language in the thread."""
    yield
    translation.deactivate()


@pytest.fixture(autouse=True)
def patient_lock(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Lock no screen before eight hours: moving the clock stands for work going on.

    That somebody is at it is noted every ten minutes instead of seconds: a test that counts
    what two requests ask would count the note, too, where the machine is slow between them.
    Tests of the lock itself ask for the fixture `locks`.
    """
    if "locks" not in request.fixturenames:
        monkeypatch.setattr(sitting, "_idle_seconds", lambda staff: 8 * 60 * 60)
        monkeypatch.setattr(sitting, "STEP_SECONDS", 10 * 60)


@pytest.fixture
def locks() -> None:
    """Let screens lock as they do in a salon."""


@pytest.fixture
def salon(db: None) -> Salon:
    return SalonFactory()


@pytest.fixture
def other_salon(db: None) -> Salon:
    return SalonFactory(name="Elsewhere")


@pytest.fixture
def receptionist(salon: Salon) -> Staff:
    return StaffFactory(salon=salon, role=Role.RECEPTIONIST)


@pytest.fixture
def stylist(salon: Salon) -> Staff:
    return StaffFactory(salon=salon, role=Role.STYLIST, has_column=True)


@pytest.fixture
def owner(salon: Salon) -> Staff:
    return StaffFactory(salon=salon, role=Role.OWNER)


@pytest.fixture
def client_for() -> SignIn:
    """Return a function that gives a signed-in test browser."""

    def sign_in(user: Staff) -> Browser:
        browser = Browser()
        browser.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
        return browser

    return sign_in


@pytest.fixture
def append_only_triggers(db: None) -> Iterator[None]:
    """Install the refusing triggers for one test (its rollback removes them)."""
    triggers.install(connection)
    yield
    if connection.vendor == "sqlite" and not connection.in_atomic_block:
        triggers.remove(connection)


def pytest_terminal_summary(
    terminalreporter: pytest.TerminalReporter, config: pytest.Config
) -> None:
    """Print the order's seed also where `-q` hides the header, and why a test ran once more."""
    if config.pluginmanager.hasplugin("randomly"):
        seed = config.getoption("randomly_seed")
        terminalreporter.write_line(f"Order: --randomly-seed={seed}")
    for report in terminalreporter.stats.get("rerun", []):
        terminalreporter.write_sep("-", f"ran once more: {report.nodeid}")
        terminalreporter.write_line(report.longreprtext)
