# ruff: noqa: S608  the tables' own names
import datetime as dt
import re

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, connection, transaction
from pytest_django import Settings

from salon import audit, triggers
from salon.append_only import AppendOnlyError
from salon.models import AuditEvent, Policy, Salon, Staff


@pytest.fixture
def event(owner: Staff, now: dt.datetime) -> AuditEvent:
    return audit.record_event("seen", target=owner, by=owner, at=now)


def test_queryset_refuses_update_and_delete(event: AuditEvent) -> None:
    for change in (
        lambda: AuditEvent.objects.update(kind="x"),
        lambda: AuditEvent.objects.all().delete(),
        lambda: AuditEvent.objects.bulk_update([event], ["kind"]),
        event.delete,
        event.save,
    ):
        with pytest.raises(AppendOnlyError):
            change()

    assert AuditEvent.objects.get().kind == "seen"


@pytest.mark.usefixtures("append_only_triggers")
@pytest.mark.parametrize("statement", ["UPDATE {0} SET kind = 'x'", "DELETE FROM {0}"])
def test_database_refuses_change_behind_the_models(event: AuditEvent, statement: str) -> None:
    table = AuditEvent._meta.db_table

    with (
        pytest.raises(IntegrityError, match="append-only"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement.format(table))

    assert AuditEvent.objects.get().kind == "seen"


TABLE = AuditEvent._meta.db_table
COLUMNS = "salon_id, kind, at, actor_label, target_type, target_id, detail"
COPY = f"SELECT id, {COLUMNS.replace('kind', chr(39) + 'x' + chr(39))} FROM {TABLE}"
SQLITE = connection.vendor == "sqlite"


def _run(*statements: str) -> None:
    with transaction.atomic(), connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


@pytest.mark.usefixtures("append_only_triggers")
def test_database_refuses_to_replace_a_row(event: AuditEvent) -> None:
    """SQLite deletes the row in the way of a REPLACE without asking the DELETE trigger."""
    insert = f"INTO {TABLE} (id, {COLUMNS}) {COPY}"
    statement = (
        f"INSERT OR REPLACE {insert}"
        if SQLITE
        else f"INSERT {insert} ON CONFLICT (id) DO UPDATE SET kind = excluded.kind"
    )

    with pytest.raises(IntegrityError, match="append-only"):
        _run(statement)

    assert AuditEvent.objects.get().kind == "seen"


@pytest.mark.usefixtures("append_only_triggers")
def test_database_refuses_to_replace_a_row_by_another_key(
    owner: Staff, now: dt.datetime
) -> None:
    """REPLACE also deletes rows that share a unique key other than the primary one."""
    Policy.objects.create(salon=owner.salon, number=1, recorded_at=now, recorded_by=owner)
    columns = [field.column for field in Policy._meta.concrete_fields if field.name != "id"]
    copied = [f"{name} - 1" if name == "records_keep_years" else name for name in columns]
    table = Policy._meta.db_table
    rows = f"SELECT {', '.join(copied)} FROM {table} WHERE true"
    insert = f"INTO {table} ({', '.join(columns)}) {rows}"
    statement = (
        f"INSERT OR REPLACE {insert}"
        if SQLITE
        else f"INSERT {insert} ON CONFLICT (salon_id, number) DO UPDATE"
        " SET records_keep_years = excluded.records_keep_years"
    )

    with pytest.raises(IntegrityError, match="append-only"):
        _run(statement)

    assert Policy.objects.get().records_keep_years == 6


@pytest.mark.usefixtures("append_only_triggers")
def test_database_refuses_to_empty_a_table(event: AuditEvent) -> None:
    checked = "SET CONSTRAINTS ALL IMMEDIATE"  # what the test inserted waits for its checks
    attempts = (
        [[f"DELETE FROM {TABLE}"]]
        if SQLITE
        else [[checked, f"TRUNCATE {TABLE}"], [checked, "TRUNCATE salon_salon CASCADE"]]
    )
    for statements in attempts:
        with pytest.raises(IntegrityError, match="append-only"):
            _run(*statements)

    assert AuditEvent.objects.count() == 1


@pytest.mark.usefixtures("append_only_triggers")
def test_database_refuses_to_move_a_row_under_the_key_of_another(salon: Salon) -> None:
    """What an append-only row points at keeps its key, and nothing else takes its place."""
    statements = [f"UPDATE salon_salon SET id = id + 1000 WHERE id = {salon.pk}"]
    if SQLITE:
        statements.append(
            f"INSERT OR REPLACE INTO salon_salon SELECT * FROM salon_salon"
            f" WHERE id = {salon.pk}"
        )
    for statement in statements:
        with pytest.raises(IntegrityError, match="append-only"):
            _run(statement)

    assert Salon.objects.filter(pk=salon.pk).exists()


@pytest.mark.postgres
@pytest.mark.skipif(SQLITE, reason="SQLite has no replicas")
@pytest.mark.usefixtures("append_only_triggers")
def test_a_session_that_plays_a_replica_is_refused_too(event: AuditEvent) -> None:
    with pytest.raises(IntegrityError, match="append-only"):
        _run("SET LOCAL session_replication_role = replica", f"DELETE FROM {TABLE}")


NO_UPDATE = triggers.names(AuditEvent)["UPDATE"]
DROP = f"DROP TRIGGER {NO_UPDATE}" + ("" if SQLITE else f" ON {TABLE}")
FAULTS = [
    ("dropped", [DROP], f"The trigger {NO_UPDATE} is missing."),
    (
        "put back without effect",
        [
            DROP,
            f"CREATE TRIGGER {NO_UPDATE} BEFORE UPDATE ON {TABLE} BEGIN SELECT 1; END"
            if SQLITE
            else f"CREATE TRIGGER {NO_UPDATE} BEFORE UPDATE ON {TABLE} FOR EACH ROW"
            " WHEN (false) EXECUTE FUNCTION salon_refuse_change()",
        ],
        f"The trigger {NO_UPDATE} is not as it was installed.",
    ),
    (
        "a stranger's",
        [
            f"CREATE TRIGGER odd AFTER INSERT ON {TABLE} BEGIN SELECT 1; END"
            if SQLITE
            else f"CREATE RULE odd AS ON INSERT TO {TABLE} DO INSTEAD NOTHING"
        ],
        f"The table {TABLE} has a trigger or rule that nobody installed: odd.",
    ),
]
POSTGRESQL_FAULTS = [
    (
        "switched off",
        [f"ALTER TABLE {TABLE} DISABLE TRIGGER {NO_UPDATE}"],
        f"The trigger {NO_UPDATE} is switched off.",
    ),
    (
        "switched off for replicas",
        [f"ALTER TABLE {TABLE} ENABLE TRIGGER {NO_UPDATE}"],
        f"The trigger {NO_UPDATE} is switched off.",
    ),
    (
        "an emptied function",
        [
            "CREATE OR REPLACE FUNCTION salon_refuse_change() RETURNS trigger AS"
            " $$BEGIN RETURN NEW; END$$ LANGUAGE plpgsql"
        ],
        "The function salon_refuse_change is not as it was installed.",
    ),
]


@pytest.mark.usefixtures("append_only_triggers")
@pytest.mark.parametrize(
    ("statements", "fault"),
    [
        pytest.param(statements, fault, id=name)
        for name, statements, fault in FAULTS + ([] if SQLITE else POSTGRESQL_FAULTS)
    ],
)
def test_check_names_what_is_wrong_with_a_guard(
    settings: Settings, statements: list[str], fault: str
) -> None:
    settings.APPEND_ONLY_TRIGGERS = True
    assert triggers.faults(connection) == []
    call_command("check", databases=["default"])

    _run(*statements)

    assert triggers.faults(connection) == [fault]
    with pytest.raises(CommandError, match=re.escape(fault)):
        call_command("check", databases=["default"])
    if "nobody installed" not in fault:
        triggers.install(connection)
        assert triggers.faults(connection) == []
