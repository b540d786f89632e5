"""The schema of the database in use, as it can be compared with another's."""

import re
from typing import Any

from django.db import connection

Schema = dict[str, dict[str, Any]]


def schema(apps: tuple[str, ...]) -> Schema:
    """Return columns and constraints of the apps' tables, whatever the columns' order.

    Django makes up the names of foreign keys and plain indexes from the columns as they were
    called then; those names are left out.
    """
    with connection.cursor() as cursor:
        tables = [
            name
            for name in connection.introspection.table_names(cursor)
            if name.split("_")[0] in apps
        ]
        return {name: _table(cursor, name) for name in sorted(tables)}


def _table(cursor: Any, name: str) -> dict[str, Any]:
    described = connection.introspection.get_table_description(cursor, name)
    found: dict[str, Any] = {
        f"column {row.name}": (row.type_code, row.display_size, row.null_ok, row.default)
        for row in described
    }
    constraints = connection.introspection.get_constraints(cursor, name)
    for one, constraint in constraints.items():
        parts = (
            constraint["columns"] if constraint["columns"] is not None else [],
            constraint.get("orders"),
            constraint["primary_key"],
            constraint["unique"],
            constraint["foreign_key"],
            constraint["check"],
            constraint["index"],
        )
        found[f"{_own(one)} {parts}"] = True
    found |= {f"text {own}": text for own, text in _texts(cursor, name)}
    return found


def _own(name: str) -> str:
    """Return a name that a model gave; "" for one that Django or the database made up."""
    made_up = re.search(r"_[0-9a-f]{8}(_|$)|_pkey$|_key$|_like$|_check$|^__|^fk_\d+$", name)
    return "" if made_up else name


def _texts(cursor: Any, name: str) -> list[tuple[str, str]]:
    """Return what the database itself says of each check, exclusion and partial index."""
    if connection.vendor == "postgresql":
        cursor.execute(
            "SELECT conname, pg_get_constraintdef(oid) FROM pg_constraint"
            " WHERE conrelid = %s::regclass AND contype <> 'f'"
            " UNION ALL SELECT indexrelid::regclass::text, pg_get_indexdef(indexrelid)"
            " FROM pg_index WHERE indrelid = %s::regclass",
            [name, name],
        )
        rows = cursor.fetchall()
        return [(own, text) for own, text in rows if _own(own)]
    cursor.execute("SELECT name, sql FROM sqlite_master WHERE tbl_name = %s", [name])
    found = []
    for own, text in cursor.fetchall():
        if own == name:
            found += re.findall(r'CONSTRAINT "(\w+)" (.*?)(?=, CONSTRAINT|\)$)', text)
        elif text and _own(own):
            found.append((own, text))
    return found
