"""`migrate` is not refused when a guard is missing: it installs it, or ends by naming it."""

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client as Browser
from pytest_django import Settings

from salon import triggers
from salon.models import AuditEvent

NAME = triggers.names(AuditEvent)["DELETE"]


@pytest.fixture(autouse=True)
def guarded(append_only_triggers: None, settings: Settings) -> None:
    settings.APPEND_ONLY_TRIGGERS = True


def _drop(name: str = NAME) -> None:
    on = f' ON "{AuditEvent._meta.db_table}"' if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        cursor.execute(f'DROP TRIGGER "{name}"{on}')


def _migrate() -> None:
    """Run the command as a shell does: call_command leaves the checks out."""
    call_command("migrate", skip_checks=False, verbosity=0)


def test_a_missing_trigger_is_back_after_migrating() -> None:
    _drop()

    _migrate()

    assert triggers.missing(connection) == []
    call_command("check", databases=["default"])


def test_a_trigger_that_stays_missing_ends_migrate_with_its_name(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    _drop()
    monkeypatch.setattr(triggers, "install", lambda connection: None)

    with pytest.raises(CommandError, match=NAME):
        _migrate()


def test_check_and_readiness_name_a_missing_trigger() -> None:
    answer = Browser().get("/readyz").json()
    assert (answer["status"], answer["faults"]) == ("ready", [])
    _drop()

    with pytest.raises(CommandError, match=NAME):
        call_command("check", databases=["default"])
    answer = Browser().get("/readyz")
    assert answer.status_code == 503
    assert answer.json()["faults"] == [f"The trigger {NAME} is missing."]


def _an_older_release() -> str:
    """Guard a table that is not append-only any more; return the trigger's name."""
    table, name = "salon_device", "salon_device_no_update"
    does = (
        f"FOR EACH ROW EXECUTE FUNCTION {triggers.FUNCTION}()"
        if connection.vendor == "postgresql"
        else "BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE on salon_device refused'); END"
    )
    with connection.cursor() as cursor:
        cursor.execute(f'CREATE TRIGGER "{name}" BEFORE UPDATE ON "{table}" {does}')
    return name


def test_a_trigger_of_an_older_release_goes() -> None:
    """A table that may change by now keeps no trigger that refuses it."""
    name = _an_older_release()
    assert name in triggers._installed(connection)

    triggers.install(connection)

    assert name not in triggers._installed(connection)
    assert triggers.missing(connection) == []


@pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite has no such switch")
@pytest.mark.postgres
def test_a_trigger_that_is_switched_off_is_missing() -> None:
    with connection.cursor() as cursor:
        cursor.execute(f'ALTER TABLE "{AuditEvent._meta.db_table}" DISABLE TRIGGER "{NAME}"')

    assert triggers.missing(connection) == [NAME]

    triggers.install(connection)

    assert triggers.missing(connection) == []
