"""What the tables of a database hold, so that two databases can be compared."""

import datetime as dt
import hashlib
import json
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.apps import apps
from django.db import connection, models

# Of one database only: who is signed in.
PASSING = frozenset({"django_session"})


@dataclass(frozen=True)
class Table:
    """A model's table: its columns, how SQLite's values become Python's, its key."""

    name: str
    columns: tuple[str, ...]
    converters: tuple[tuple[Callable[..., Any], ...], ...]
    expressions: tuple[Any, ...]
    json: frozenset[int]
    key: str

    def read(self, row: Sequence[Any]) -> list[Any]:
        """Return a row as it comes from the embedded database in Python's types."""
        values = list(row)
        for place, converters in enumerate(self.converters):
            for convert in converters:
                values[place] = convert(values[place], self.expressions[place], connection)
        return values

    def plain(self, row: Sequence[Any]) -> list[Any]:
        """Return a row so that two databases write the same value alike."""
        return [_plain(value, place in self.json) for place, value in enumerate(row)]


def tables() -> list[Table]:
    """Return every table of the product and its libraries, by name."""
    found = [
        _table(model)
        for model in apps.get_models(include_auto_created=True)
        if model._meta.managed and not model._meta.proxy
    ]
    return sorted(found, key=lambda table: table.name)


def counts() -> dict[str, int]:
    """Return how many rows each table has; those of one database only are left out."""
    with connection.cursor() as cursor:
        return counted(cursor.execute, cursor.fetchone)


def counted(execute: Callable[[str], Any], fetch: Callable[[], Any]) -> dict[str, int]:
    """Return how many rows each table has, asked by a cursor's two functions."""
    found = {}
    for table in tables():
        if table.name not in PASSING:
            execute(f'SELECT count(*) FROM "{table.name}"')  # noqa: S608 - a model's table
            found[table.name] = fetch()[0]
    return found


def digest(table: Table, rows: Iterable[Sequence[Any]]) -> tuple[int, str]:
    """Return how many rows there are, and a digest of all of them in their order."""
    count, seen = 0, hashlib.sha256()
    for row in rows:
        seen.update(json.dumps(table.plain(row), ensure_ascii=False).encode() + b"\n")
        count += 1
    return count, seen.hexdigest()


def rows_of(table: Table) -> Iterator[list[Any]]:
    """Yield a table's rows of the default database in the order of their keys."""
    columns = ", ".join(f'"{column}"' for column in table.columns)
    with connection.cursor() as cursor:
        statement = f'SELECT {columns} FROM "{table.name}" ORDER BY "{table.key}"'  # noqa: S608
        cursor.execute(statement)
        while several := cursor.fetchmany(2000):
            yield from (table.read(row) for row in several)


def _table(model: type[models.Model]) -> Table:
    fields = model._meta.local_concrete_fields
    expressions = tuple(field.get_col(model._meta.db_table) for field in fields)
    return Table(
        name=model._meta.db_table,
        columns=tuple(field.column for field in fields),
        converters=tuple(tuple(connection.ops.get_db_converters(e)) for e in expressions),
        expressions=expressions,
        json=frozenset(
            place for place, field in enumerate(fields) if isinstance(field, models.JSONField)
        ),
        key=model._meta.pk.column,
    )


def _plain(value: Any, is_json: bool) -> Any:
    if isinstance(value, memoryview | bytes):
        return bytes(value).hex()
    if isinstance(value, Decimal):
        return format(value.normalize(), "f")
    if isinstance(value, dt.datetime):
        return value.astimezone(dt.UTC).isoformat()
    if is_json and value is not None:
        return _alike(json.loads(value) if isinstance(value, str) else value)
    return value if value is None or isinstance(value, bool | int | float | str) else str(value)


def _alike(value: Any) -> Any:
    """Return plain data so that 1 and 1.0, 0 and -0 are one: PostgreSQL keeps numbers."""
    if isinstance(value, dict):
        return {key: _alike(value[key]) for key in sorted(value)}
    if isinstance(value, list):
        return [_alike(item) for item in value]
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    return float(value) + 0.0 if is_number else value


def sqlite_counts(file: str) -> dict[str, int]:
    """Return the counts of another SQLite file."""
    other = sqlite3.connect(file)
    try:
        cursor = other.cursor()
        return counted(cursor.execute, cursor.fetchone)
    finally:
        other.close()
