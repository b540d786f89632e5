"""Installations of their own, with a database that holds a small salon."""

import datetime as dt
import os
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

import pytest
from django.contrib.auth.hashers import Argon2PasswordHasher
from django.db import connection
from django.utils import timezone
from pytest_django import DjangoDbBlocker

from clients.diary import overlap_guard
from clients.models import Appointment, Status
from salon import serving_account, triggers
from salon.models import Role, Salon, Staff
from tests.factories.clients import AppointmentFactory
from tests.factories.photos import agree
from tests.factories.salon import SalonFactory, StaffFactory
from tests.project.upgrade.databases import Databases, as_default
from tests.serving.installation import ROOT, Installation, surroundings

SERVING = f"salon_web_of_{os.getpid()}"  # roles are of the whole server
PASSWORD = "three kettles and a lamp"


@pytest.fixture(scope="session")
def var(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of what services write, the static files collected in it."""
    folder = tmp_path_factory.mktemp("var")
    subprocess.run(
        [sys.executable, "manage.py", "collectstatic", "--no-input", "--verbosity", "0"],
        cwd=ROOT,
        env={**surroundings(folder, "sqlite:////nowhere", folder)},
        check=True,
    )
    return folder


@dataclass(frozen=True)
class People:
    """Whom the salon's database begins with."""

    salon: Salon
    desk: Staff
    stylist: Staff
    seated: Appointment


@pytest.fixture
def installation(
    var: Path, django_db_setup: None, django_db_blocker: DjangoDbBlocker, tmp_path: Path
) -> Iterator[Installation]:
    """An installation with its database; nothing runs yet, and all is ended at the end."""
    with django_db_blocker.unblock():
        databases = Databases(tmp_path)
        name = _copy(databases, tmp_path)
        made = Installation(tmp_path, surroundings(tmp_path, _url(name), var), name)
        try:
            yield made
        finally:
            made.stop_all()
            databases.drop_all()
            if connection.vendor == "postgresql":
                with connection.cursor() as cursor:
                    cursor.execute(f"DROP ROLE IF EXISTS {SERVING}")


@pytest.fixture
def people(installation: Installation) -> People:
    """Fill the installation: guards, a salon, a receptionist, a stylist with a client."""
    with as_default(installation.database) as database:
        triggers.install(database)
        overlap_guard.install(database)
        if database.vendor == "postgresql":  # the processes serve by an account without rights
            serving_account.grant(database, name=SERVING, password=PASSWORD)
            url = _url(installation.database, SERVING, quote(PASSWORD))
            installation.environment["DATABASE_URL"] = url
        salon = SalonFactory(opens_at=dt.time(0), closes_at=dt.time(23, 55))
        password = Argon2PasswordHasher().encode(PASSWORD, "a salt of a test")
        desk = StaffFactory(
            salon=salon, username="imke", role=Role.RECEPTIONIST, password=password
        )
        stylist = StaffFactory(
            salon=salon, username="tomasz", has_column=True, password=password
        )
        now = timezone.now().replace(microsecond=0)
        seated = AppointmentFactory(
            client__salon=salon, stylist=stylist, status=Status.CHECKED_IN, starts_at=now
        )
        agree(seated, stylist, now)
        return People(salon, desk, stylist, seated)


def _copy(databases: Databases, folder: Path) -> str:
    if connection.vendor == "postgresql":
        return databases.make("served", like=str(connection.settings_dict["NAME"]))
    name = databases.make("served")
    with sqlite3.connect(name) as file:
        connection.ensure_connection()
        connection.connection.backup(file)
    file.close()
    return name


def _url(name: str, user: str = "", password: str = "") -> str:
    if connection.vendor == "sqlite":
        return f"sqlite:///{name}"
    known = connection.settings_dict
    user, password = user or known["USER"], password or known["PASSWORD"]
    login = f"{user}:{password}" if password else user
    return f"postgres://{login}@{known['HOST']}:{known['PORT'] or 5432}/{name}"
