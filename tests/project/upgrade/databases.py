"""Databases beside the suite's own, each the default one for a while."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from django.contrib.contenttypes.models import ContentType
from django.db import connection, connections
from django.db.backends.base.base import BaseDatabaseWrapper

Table = dict[Any, dict[str, Any]]


class Databases:
    """Makes, copies and drops databases: files of SQLite, or PostgreSQL's own."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._is_sqlite = connection.vendor == "sqlite"
        self._prefix = "" if self._is_sqlite else f"{connection.settings_dict['NAME']}_"
        self._made: list[str] = []

    def make(self, name: str, like: str = "") -> str:
        """Return the full name of a new database: empty, or a copy of another."""
        full = str(self._folder / name) if self._is_sqlite else f"{self._prefix}{name}"
        self._made.append(full)
        if self._is_sqlite:
            if like:
                shutil.copy(like, full)
        else:
            self._drop(full)
            template = like or "template0"
            self._on_the_server(f'CREATE DATABASE "{full}" TEMPLATE "{template}"')
        return full

    def drop_all(self) -> None:
        """Drop whatever was made here."""
        for full in self._made:
            self._drop(full)

    def _drop(self, full: str) -> None:
        if self._is_sqlite:
            with suppress(FileNotFoundError):
                Path(full).unlink()
        else:
            self._on_the_server(f'DROP DATABASE IF EXISTS "{full}"')

    def _on_the_server(self, statement: str) -> None:
        with connection.cursor() as cursor:
            cursor.execute(statement)


@contextmanager
def as_default(full: str) -> Iterator[BaseDatabaseWrapper]:
    """Let `full` be the default database."""
    kept = connections["default"]
    other = kept.copy()
    other.settings_dict["NAME"] = full
    connections["default"] = other
    ContentType.objects.clear_cache()
    try:
        yield other
    finally:
        other.close()
        connections["default"] = kept
        ContentType.objects.clear_cache()


def content(apps: tuple[str, ...]) -> dict[str, Table]:
    """Return every row of the apps' tables, by table and key."""
    with connection.cursor() as cursor:
        tables = [
            name
            for name in connection.introspection.table_names(cursor)
            if name.split("_")[0] in apps
        ]
        return {name: _rows(cursor, name) for name in sorted(tables)}


def _rows(cursor: Any, table: str) -> Table:
    key = connection.introspection.get_primary_key_column(cursor, table)
    cursor.execute(f'SELECT * FROM "{table}"')  # noqa: S608
    columns = [column[0] for column in cursor.description]
    found = (dict(zip(columns, row, strict=True)) for row in cursor.fetchall())
    return {row[key]: row for row in found}
