"""Rows in bulk, past the models: what Django's `bulk_create` does, at a fifth of its cost.

For filling a salon with an invented past only. Triggers, keys and constraints of the database
hold as ever; inside `unchecked` what points at other rows is checked once, at the end.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from itertools import chain
from typing import Any

from django.apps import apps
from django.db import IntegrityError, connection, models

# SQLite takes no more than 32,766 values a statement; executemany needs no such limit.
Row = Sequence[Any]


def reserve(model: type[models.Model], count: int) -> list[int]:
    """Return keys that nobody else will take; on SQLite hold the write lock for as long."""
    quote = connection.ops.quote_name
    table, key = model._meta.db_table, model._meta.pk.column
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                "SELECT nextval(pg_get_serial_sequence(%s, %s)) FROM generate_series(1, %s)",
                [quote(table), key, count],
            )
            return list(chain.from_iterable(cursor.fetchall()))
        cursor.execute("SELECT seq FROM sqlite_sequence WHERE name = %s", [table])
        found = cursor.fetchone()
    last = found[0] if found else 0
    return list(range(last + 1, last + count + 1))


def insert(model: type[models.Model], columns: Sequence[str], rows: Sequence[Row]) -> None:
    """Write rows of values that are as the database takes them; JSON as text."""
    quote = connection.ops.quote_name
    names = ", ".join(map(quote, columns))
    table = quote(model._meta.db_table)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            with cursor.copy(f"COPY {table} ({names}) FROM STDIN") as copy:
                for row in rows:
                    copy.write_row(row)
            return
        places = ", ".join(["%s"] * len(columns))
        cursor.executemany(
            f"INSERT INTO {table} ({names}) VALUES ({places})",  # noqa: S608  names of models
            rows,
        )


@contextmanager
def unchecked() -> Iterator[None]:
    """Write without looking up each row that another points at; look at all of them at the end.

    On PostgreSQL only a superuser may. Others, and who has begun a transaction, go on as ever.
    """
    before: list[str] = []
    after: list[str] = []
    if connection.in_atomic_block:
        pass
    elif connection.vendor == "sqlite":
        before = ["PRAGMA foreign_keys = OFF", "PRAGMA synchronous = OFF"]
        before += ["PRAGMA cache_size = -400000"]
        after = ["PRAGMA foreign_keys = ON", "PRAGMA synchronous = FULL"]
        after += ["PRAGMA cache_size = -2000"]
    elif _is_superuser():
        before = ["SET session_replication_role = replica"]
        after = ["SET session_replication_role = DEFAULT"]
    _run(before)
    try:
        yield
    finally:
        _run(after)
    if before and connection.vendor == "sqlite":
        connection.check_constraints()
    elif before:
        _check_every_key()


def settle() -> None:
    """Bring the planner's statistics up to date.

    On PostgreSQL also what autovacuum does after so many rows: without it nothing is counted
    from an index alone.
    """
    vacuums = connection.vendor == "postgresql" and not connection.in_atomic_block
    _run(["VACUUM (ANALYZE)" if vacuums else "ANALYZE"])


def _run(statements: Sequence[str]) -> None:
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


def _is_superuser() -> bool:
    with connection.cursor() as cursor:
        cursor.execute("SELECT current_setting('is_superuser')")
        return bool(cursor.fetchone()[0] == "on")


def _check_every_key() -> None:
    """Raise IntegrityError if a row points at one that is not there."""
    for model in apps.get_models(include_auto_created=True):
        for f in model._meta.concrete_fields:
            if isinstance(f, models.ForeignKey) and getattr(f, "db_constraint", True):
                to: Any = f.target_field
                rows = model._base_manager.filter(**{f"{f.name}__isnull": False})
                there = to.model._base_manager.filter(**{to.name: models.OuterRef(f.attname)})
                if rows.filter(~models.Exists(there)).exists():
                    raise IntegrityError(f"{model._meta.label}.{f.name} points at nothing")
