"""Database triggers that refuse UPDATE and DELETE on append-only tables.

Installed after every migration and not by one, since Django's table remake on SQLite
drops triggers without a word. `salon.checks` reports a table that lacks its trigger, after
`migrate` and whenever it is asked: never before, or an older database could not be migrated.
"""

from typing import Any

from django.apps import apps
from django.conf import settings
from django.db import connections, models, transaction
from django.db.backends.base.base import BaseDatabaseWrapper

from salon.append_only import AppendOnlyModel

_FUNCTION = """
CREATE OR REPLACE FUNCTION salon_refuse_change() RETURNS trigger AS $$
BEGIN
    RAISE EXCEPTION 'append-only: % on % refused', TG_OP, TG_TABLE_NAME
        USING ERRCODE = 'integrity_constraint_violation';
END
$$ LANGUAGE plpgsql
"""


def append_only_models() -> list[type[models.Model]]:
    """Return every concrete append-only model of the project."""
    return [model for model in apps.get_models() if issubclass(model, AppendOnlyModel)]


def names(model: type[models.Model]) -> dict[str, str]:
    """Return trigger names by operation."""
    table = model._meta.db_table
    return {op: f"{table}_no_{op.lower()}" for op in ("UPDATE", "DELETE")}


def install(connection: BaseDatabaseWrapper) -> None:
    """Install the triggers on every append-only table that exists, and no others."""
    tables = set(connection.introspection.table_names())
    due = {name for model in append_only_models() for name in names(model).values()}
    with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(_FUNCTION)
        for name, table in _installed(connection).items():
            if name not in due:  # an older release's, on a table that may change by now
                on = f' ON "{table}"' if connection.vendor == "postgresql" else ""
                cursor.execute(f'DROP TRIGGER "{name}"{on}')
        for model in append_only_models():
            table = model._meta.db_table
            if table not in tables:
                continue
            for operation, name in names(model).items():
                for statement in _create(connection.vendor, table, operation, name):
                    cursor.execute(statement)


def remove(connection: BaseDatabaseWrapper) -> None:
    """Remove the triggers (only for a test's flush)."""
    with connection.cursor() as cursor:
        for model in append_only_models():
            on = f' ON "{model._meta.db_table}"' if connection.vendor == "postgresql" else ""
            for name in names(model).values():
                cursor.execute(f'DROP TRIGGER IF EXISTS "{name}"{on}')


def missing(connection: BaseDatabaseWrapper) -> list[str]:
    """Return the names of triggers that should stand in the database and do not."""
    tables = set(connection.introspection.table_names())
    installed = _installed(connection)
    return [
        name
        for model in append_only_models()
        if model._meta.db_table in tables
        for name in names(model).values()
        if name not in installed
    ]


def _installed(connection: BaseDatabaseWrapper) -> dict[str, str]:
    """Return the table of each trigger of this kind that the database has, by its name."""
    query = (
        "SELECT name, tbl_name FROM sqlite_master"
        " WHERE type = 'trigger' AND sql LIKE '%RAISE(ABORT, ''append-only:%'"
        if connection.vendor == "sqlite"
        else "SELECT t.tgname, c.relname FROM pg_trigger t"
        " JOIN pg_class c ON c.oid = t.tgrelid JOIN pg_proc p ON p.oid = t.tgfoid"
        " WHERE p.proname = 'salon_refuse_change' AND t.tgenabled IN ('O', 'A')"
        " AND pg_table_is_visible(c.oid)"
    )
    with connection.cursor() as cursor:
        cursor.execute(query)
        return dict(cursor.fetchall())


def _create(vendor: str, table: str, operation: str, name: str) -> list[str]:
    if vendor == "postgresql":
        return [
            f'DROP TRIGGER IF EXISTS "{name}" ON "{table}"',
            f'CREATE TRIGGER "{name}" BEFORE {operation} ON "{table}" '
            "FOR EACH ROW EXECUTE FUNCTION salon_refuse_change()",
        ]
    return [
        f'DROP TRIGGER IF EXISTS "{name}"',
        f'CREATE TRIGGER "{name}" BEFORE {operation} ON "{table}" BEGIN '
        f"SELECT RAISE(ABORT, 'append-only: {operation} on {table} refused'); END",
    ]


def install_after_migrate(using: str = "default", **kwargs: Any) -> None:
    """Answer post_migrate of one app: the tables of all stand by then."""
    if settings.APPEND_ONLY_TRIGGERS:
        install(connections[using])
