# ruff: noqa: S608  the tables' own names
"""The account that serves: it does all that the product does, and cannot touch the guards."""

import datetime as dt
import os
from collections.abc import Iterator

import pytest
from django.core.management import CommandError, call_command
from django.db import ProgrammingError, connection, transaction
from pytest_django import Settings

from consult.models import SignOff
from salon import health, serving_account, triggers
from salon.models import Staff
from tests.factories.consult import opened

SQLITE = connection.vendor == "sqlite"
SIGNED = SignOff._meta.db_table
NO_UPDATE = triggers.names(SignOff)["UPDATE"]
REFUSED = [
    f"UPDATE {SIGNED} SET signed_name = 'x'",
    f"DELETE FROM {SIGNED}",
    f"TRUNCATE {SIGNED} CASCADE",
    "TRUNCATE salon_salon CASCADE",
    f"DROP TRIGGER {NO_UPDATE} ON {SIGNED}",
    f"ALTER TABLE {SIGNED} DISABLE TRIGGER {NO_UPDATE}",
    f"ALTER TABLE {SIGNED} DISABLE TRIGGER ALL",
    f"CREATE TRIGGER odd BEFORE INSERT ON {SIGNED} FOR EACH ROW"
    " EXECUTE FUNCTION suppress_redundant_updates_trigger()",
    f"CREATE RULE odd AS ON INSERT TO {SIGNED} DO INSTEAD NOTHING",
    f"ALTER TABLE {SIGNED} DROP COLUMN signature",
    f"DROP TABLE {SIGNED} CASCADE",
    "CREATE OR REPLACE FUNCTION salon_refuse_change() RETURNS trigger AS"
    " $$BEGIN RETURN NULL; END$$ LANGUAGE plpgsql",
    "CREATE TABLE odd (id integer)",
    "SET LOCAL session_replication_role = replica",
    "INSERT INTO django_migrations (app, name, applied) VALUES ('x', 'x', now())",
]


@pytest.fixture
def serving(db: None, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """Make the account as the command does, and act as it for one test."""
    name = f"salon_web_{os.getpid()}"  # roles are of the whole server
    monkeypatch.setenv("SERVING_PASSWORD", "it's a secret")
    triggers.install(connection)
    for _again in range(2):  # as after the next migration
        call_command("serving_account", name)
    assert serving_account.may_alter(connection)
    with connection.cursor() as cursor:
        cursor.execute(f"SET LOCAL ROLE {name}")
    yield name
    with connection.cursor() as cursor:
        cursor.execute("RESET ROLE")


@pytest.mark.postgres
@pytest.mark.skipif(SQLITE, reason="SQLite has no accounts")
def test_the_serving_account_serves_and_cannot_alter_or_empty(
    serving: str,
    stylist: Staff,
    now: dt.datetime,
    settings: Settings,
    subtests: pytest.Subtests,
) -> None:
    settings.APPEND_ONLY_TRIGGERS = True
    opened(stylist.salon, stylist=stylist, at=now).to_end()

    assert not serving_account.may_alter(connection)
    assert not [fault for fault in health.readiness_faults() if "disk" not in fault]
    call_command("verify_signoffs")
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        for statement in REFUSED:
            with (
                subtests.test(statement),
                pytest.raises(ProgrammingError, match=r"permission denied|must be owner"),
                transaction.atomic(),
            ):
                cursor.execute(statement)


def test_the_command_refuses_what_cannot_be(db: None, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(CommandError, match="SERVING_PASSWORD"):
        call_command("serving_account", "salon_web")
    monkeypatch.setenv("SERVING_PASSWORD", "secret")
    with connection.cursor() as cursor:
        name = "anybody"
        if not SQLITE:
            cursor.execute("SELECT current_user")
            (name,) = cursor.fetchone()

    with pytest.raises(CommandError, match=r"PostgreSQL's|owns the database"):
        call_command("serving_account", name)
