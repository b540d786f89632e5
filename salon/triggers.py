"""Database triggers that refuse every change of append-only tables.

UPDATE and DELETE, on SQLite also an INSERT that would replace a row, on PostgreSQL TRUNCATE;
and in the tables that append-only rows point at, a change of the key that they point with.
Installed after every migration and not by one, since Django's table remake on SQLite
drops triggers without a word. `salon.checks` reports a trigger that is missing, switched off or
worded otherwise, after `migrate` and whenever it is asked: never before, or an older database
could not be migrated.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.conf import settings
from django.db import connections, models, transaction
from django.db.backends.base.base import BaseDatabaseWrapper

from salon.append_only import AppendOnlyModel

Models = list[type[models.Model]]

FUNCTION = "salon_refuse_change"
_BODY = """
BEGIN
    RAISE EXCEPTION 'append-only: % on % refused', TG_OP, TG_TABLE_NAME
        USING ERRCODE = 'integrity_constraint_violation';
END
"""
_CREATE_FUNCTION = (
    f"CREATE OR REPLACE FUNCTION {FUNCTION}() RETURNS trigger AS $${_BODY}$$ LANGUAGE plpgsql"
)


@dataclass(frozen=True)
class Trigger:
    """A trigger as it should be; `text` is what the database itself says of it."""

    name: str
    table: str
    text: str


def append_only_models() -> Models:
    """Return every concrete append-only model of the project."""
    return [model for model in apps.get_models() if issubclass(model, AppendOnlyModel)]


def keyed_models() -> Models:
    """Return the models that append-only rows point at, where they are not append-only."""
    own = append_only_models()
    found = {
        field.remote_field.model
        for model in own
        for field in model._meta.concrete_fields
        if field.remote_field
    }
    return sorted(found - set(own), key=lambda model: model._meta.db_table)


def names(model: type[models.Model]) -> dict[str, str]:
    """Return the names of a model's triggers by what they refuse, whatever the database."""
    table = model._meta.db_table
    refused = ("UPDATE", "DELETE", "REPLACE", "TRUNCATE")
    return {what: f"{table}_no_{what.lower()}" for what in refused}


def due(connection: BaseDatabaseWrapper) -> list[Trigger]:
    """Return every trigger that this database should have, for the tables that it has."""
    tables = set(connection.introspection.table_names())
    kept = [model for model in append_only_models() if model._meta.db_table in tables]
    keyed = [model for model in keyed_models() if model._meta.db_table in tables]
    if connection.vendor == "postgresql":
        return list(_postgresql(kept, keyed))
    return list(_sqlite(connection, kept, keyed))


def install(connection: BaseDatabaseWrapper) -> None:
    """Install what is missing or not as it should be, and remove what is not due any more."""
    wanted = due(connection)
    is_postgresql = connection.vendor == "postgresql"
    with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
        if is_postgresql:
            # A table with checks still to come at the end of the transaction is not altered.
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
            cursor.execute("SET CONSTRAINTS ALL DEFERRED")
        if is_postgresql and _functions(connection) != [_BODY]:
            cursor.execute(_CREATE_FUNCTION)
        found = _installed(connection)
        names_due = {trigger.name for trigger in wanted}
        for name, (table, text, _is_on) in found.items():
            # An older release's, on a table that may change by now. A stranger's stays:
            # `faults` names it, and whoever made it is to be asked.
            if name not in names_due and _is_own(connection, text):
                _drop(cursor, connection, name, table)
        for trigger in wanted:
            if found.get(trigger.name) == (trigger.table, trigger.text, True):
                continue
            _drop(cursor, connection, trigger.name, trigger.table)
            cursor.execute(trigger.text)
            if is_postgresql:
                # Also where a session plays a replica, which leaves other triggers out.
                cursor.execute(
                    f'ALTER TABLE "{trigger.table}" ENABLE ALWAYS TRIGGER "{trigger.name}"'
                )


def remove(connection: BaseDatabaseWrapper) -> None:
    """Remove the triggers (only for a test's flush)."""
    with connection.cursor() as cursor:
        for trigger in due(connection):
            _drop(cursor, connection, trigger.name, trigger.table)


def suspend(connection: BaseDatabaseWrapper, *, tables: Iterable[str]) -> None:
    """Remove the triggers of some tables until the migrations that run are over.

    For a migration that fills a new column of records; `install_after_migrate` puts them back.
    """
    wanted = set(tables)
    with connection.cursor() as cursor:
        for trigger in due(connection):
            if trigger.table in wanted:
                _drop(cursor, connection, trigger.name, trigger.table)


def missing(connection: BaseDatabaseWrapper) -> list[str]:
    """Return the names of triggers that the database lacks, or has otherwise than it should."""
    found = _installed(connection)
    return [
        trigger.name
        for trigger in due(connection)
        if found.get(trigger.name) != (trigger.table, trigger.text, True)
    ]


def faults(connection: BaseDatabaseWrapper) -> list[str]:
    """Return what is wrong with the guards, one sentence each; empty where all is well."""
    wanted, found = due(connection), _installed(connection)
    faults = []
    if connection.vendor == "postgresql" and wanted and _functions(connection) != [_BODY]:
        faults.append(f"The function {FUNCTION} is not as it was installed.")
    for trigger in wanted:
        table, text, is_on = found.get(trigger.name, ("", "", False))
        if not text:
            faults.append(f"The trigger {trigger.name} is missing.")
        elif (table, text) != (trigger.table, trigger.text):
            faults.append(f"The trigger {trigger.name} is not as it was installed.")
        elif not is_on:
            faults.append(f"The trigger {trigger.name} is switched off.")
    known = {trigger.name for trigger in wanted}
    kept = {model._meta.db_table for model in append_only_models()}
    faults += [
        f"The table {table} has a trigger or rule that nobody installed: {name}."
        for name, (table, _text, _is_on) in sorted(found.items())
        if table in kept and name not in known
    ]
    return faults


def _postgresql(kept: Models, keyed: Models) -> Iterator[Trigger]:
    for model in kept:
        table, called = model._meta.db_table, names(model)
        for what, each in (("UPDATE", "ROW"), ("DELETE", "ROW"), ("TRUNCATE", "STATEMENT")):
            yield Trigger(
                called[what],
                table,
                f"CREATE TRIGGER {called[what]} BEFORE {what} ON {table}"
                f" FOR EACH {each} EXECUTE FUNCTION {FUNCTION}()",
            )
    for model in keyed:
        table, key = model._meta.db_table, model._meta.pk.column
        name = f"{table}_keeps_key"
        yield Trigger(
            name,
            table,
            f"CREATE TRIGGER {name} BEFORE UPDATE OF {key} ON {table}"
            f" FOR EACH ROW EXECUTE FUNCTION {FUNCTION}()",
        )


def _sqlite(connection: BaseDatabaseWrapper, kept: Models, keyed: Models) -> Iterator[Trigger]:
    for model in kept:
        table, called = model._meta.db_table, names(model)
        for what in ("UPDATE", "DELETE"):
            yield _sqlite_trigger(called[what], table, what, what)
        # REPLACE deletes the row in its way without asking the trigger above.
        taken = " OR ".join(
            f'EXISTS (SELECT 1 FROM "{table}" WHERE {same})'  # noqa: S608
            for same in _conflicts(connection, table)
        )
        yield _sqlite_trigger(called["REPLACE"], table, "INSERT", "REPLACE", when=taken)
    for model in keyed:
        table, key = model._meta.db_table, model._meta.pk.column
        yield _sqlite_trigger(f"{table}_keeps_key", table, f'UPDATE OF "{key}"', "UPDATE")
        taken = f'EXISTS (SELECT 1 FROM "{table}" WHERE {_same([key])})'  # noqa: S608
        yield _sqlite_trigger(f"{table}_no_replace", table, "INSERT", "REPLACE", when=taken)


def _sqlite_trigger(name: str, table: str, event: str, what: str, when: str = "") -> Trigger:
    condition = f" WHEN {when}" if when else ""
    return Trigger(
        name,
        table,
        f'CREATE TRIGGER "{name}" BEFORE {event} ON "{table}"{condition} BEGIN '
        f"SELECT RAISE(ABORT, 'append-only: {what} on {table} refused'); END",
    )


def _conflicts(connection: BaseDatabaseWrapper, table: str) -> list[str]:
    """Return, for each key that is unique in the table, that a row has the new row's.

    As the table itself has its keys, which in an older release's may be others.
    """
    with connection.cursor() as cursor:
        key = connection.introspection.get_primary_key_column(cursor, table)
        found = [_same([key or "rowid"])]
        cursor.execute(
            "SELECT i.name, i.partial, m.sql FROM pragma_index_list(%s) i"
            ' LEFT JOIN sqlite_master m ON m.name = i.name WHERE i."unique" ORDER BY i.name',
            [table],
        )
        for index, is_partial, text in cursor.fetchall():
            cursor.execute("SELECT name FROM pragma_index_info(%s) ORDER BY seqno", [index])
            same = _same([column for (column,) in cursor.fetchall()])
            if is_partial:
                where = text.partition(" WHERE ")[2]
                same = f"{same} AND ({where}) AND ({_of_new_row(where)})"
            found.append(same)
    return found


def _same(columns: list[str]) -> str:
    return " AND ".join(f'"{column}" = NEW."{column}"' for column in columns)


def _of_new_row(condition: str) -> str:
    return re.sub(r'"(\w+)"', r'NEW."\1"', condition)


def _installed(connection: BaseDatabaseWrapper) -> dict[str, tuple[str, str, bool]]:
    """Return table, text and whether it acts, of every trigger and rule, by its name."""
    query = (
        "SELECT name, tbl_name, sql, 1 FROM sqlite_master WHERE type = 'trigger'"
        if connection.vendor == "sqlite"
        else "SELECT t.tgname, c.relname, pg_get_triggerdef(t.oid, true), t.tgenabled = 'A'"
        " FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid"
        " WHERE NOT t.tgisinternal AND pg_table_is_visible(c.oid)"
        " UNION ALL SELECT r.rulename, c.relname, pg_get_ruledef(r.oid, true), true"
        " FROM pg_rewrite r JOIN pg_class c ON c.oid = r.ev_class"
        " WHERE c.relkind = 'r' AND pg_table_is_visible(c.oid)"
    )
    with connection.cursor() as cursor:
        cursor.execute(query)
        return {name: (table, text, bool(on)) for name, table, text, on in cursor.fetchall()}


def _functions(connection: BaseDatabaseWrapper) -> list[str]:
    """Return what each function of this name does; anything but plain plpgsql as nothing."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT CASE WHEN l.lanname = 'plpgsql' AND p.proconfig IS NULL THEN p.prosrc"
            " ELSE '' END FROM pg_proc p JOIN pg_language l ON l.oid = p.prolang"
            " WHERE p.proname = %s AND pg_function_is_visible(p.oid)",
            [FUNCTION],
        )
        return [body for (body,) in cursor.fetchall()]


def _is_own(connection: BaseDatabaseWrapper, text: str) -> bool:
    """Return whether some release of this product installed a trigger."""
    mark = FUNCTION if connection.vendor == "postgresql" else "RAISE(ABORT, 'append-only:"
    return mark in text


def _drop(cursor: Any, connection: BaseDatabaseWrapper, name: str, table: str) -> None:
    on = f' ON "{table}"' if connection.vendor == "postgresql" else ""
    cursor.execute(f'DROP TRIGGER IF EXISTS "{name}"{on}')


def make_way_before_migrate(using: str = "default", plan: Any = (), **kwargs: Any) -> None:
    """Answer pre_migrate: SQLite drops no column that a trigger names."""
    connection = connections[using]
    if plan and connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            for name, (table, text, _is_on) in _installed(connection).items():
                if name.endswith("_no_replace") and _is_own(connection, text):
                    _drop(cursor, connection, name, table)


def install_after_migrate(using: str = "default", **kwargs: Any) -> None:
    """Answer post_migrate of one app: the tables of all exist by then."""
    if settings.APPEND_ONLY_TRIGGERS:
        install(connections[using])
