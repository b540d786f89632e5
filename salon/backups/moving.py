"""From the embedded database to PostgreSQL: every row as it is, sealed words stay sealed."""

from typing import Any

import psycopg
from django.db import connection, transaction
from psycopg import sql

from salon.backups import rows
from salon.backups.files import BackupFailed

# What `migrate` itself writes: the copy brings its own.
FILLED_BY_MIGRATE = ("auth_permission", "django_content_type")


def refuse_unless_movable() -> None:
    """Refuse a database that is no SQLite, or that has tables which nobody knows."""
    if connection.vendor != "sqlite":
        raise BackupFailed("Only the embedded SQLite database is moved.")
    known = {table.name for table in rows.tables()} | {"django_migrations"}
    names = connection.introspection.table_names()
    # "sqlite_" is the database's own: it keeps its statistics there after ANALYZE.
    others = [name for name in names if name not in known and not name.startswith("sqlite_")]
    if others:
        raise BackupFailed(f"These tables are not the product's: {', '.join(sorted(others))}")


@transaction.atomic
def copy_rows(target: psycopg.Connection[Any]) -> dict[str, int]:
    """Copy every row into a migrated database without any; return how many of each table.

    Nobody may write to the embedded database during this. All or nothing: both sides are
    compared before it counts.
    """
    counts = {}
    with target.transaction(), target.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL DEFERRED")
        for table in rows.tables():
            _empty(cursor, table)
        for table in rows.tables():
            if table.name in rows.PASSING:
                continue
            _copy(cursor, table)
            counts[table.name] = _compare(cursor, table)
            _go_on_counting(cursor, table)
    return counts


def _empty(cursor: psycopg.Cursor[Any], table: rows.Table) -> None:
    name = sql.Identifier(table.name)
    if table.name in FILLED_BY_MIGRATE:
        cursor.execute(sql.SQL("DELETE FROM {}").format(name))
        return
    cursor.execute(sql.SQL("SELECT EXISTS (SELECT 1 FROM {})").format(name))
    if (found := cursor.fetchone()) and found[0]:
        raise BackupFailed(f"The new database is not empty: {table.name} has rows.")


def _copy(cursor: psycopg.Cursor[Any], table: rows.Table) -> None:
    statement = sql.SQL("COPY {} ({}) FROM STDIN").format(
        sql.Identifier(table.name), sql.SQL(", ").join(map(sql.Identifier, table.columns))
    )
    with cursor.copy(statement) as copying:
        for row in rows.rows_of(table):
            copying.write_row(row)


def _compare(cursor: psycopg.Cursor[Any], table: rows.Table) -> int:
    statement = sql.SQL("SELECT {} FROM {} ORDER BY {}").format(
        sql.SQL(", ").join(map(sql.Identifier, table.columns)),
        sql.Identifier(table.name),
        sql.Identifier(table.key),
    )
    cursor.execute(statement)
    count, there = rows.digest(table, cursor)
    if (count, there) != rows.digest(table, rows.rows_of(table)):
        raise BackupFailed(f"The copy of {table.name} differs.")
    return count


def _go_on_counting(cursor: psycopg.Cursor[Any], table: rows.Table) -> None:
    """Let new rows be numbered after the copied ones."""
    cursor.execute("SELECT pg_get_serial_sequence(%s, %s)", (f'"{table.name}"', table.key))
    sequence = (cursor.fetchone() or (None,))[0]
    if sequence:
        cursor.execute(
            sql.SQL("SELECT setval({}, coalesce(max({}), 0) + 1, false) FROM {}").format(
                sql.Literal(sequence), sql.Identifier(table.key), sql.Identifier(table.name)
            )
        )
