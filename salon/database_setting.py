"""Completes the setting DATABASE_URL; imported by the settings themselves."""

import os
import sqlite3
from typing import Any

from django.core.exceptions import ImproperlyConfigured


def prepared(database: dict[str, Any]) -> dict[str, Any]:
    """Return a database of Django's settings with the options that its kind needs."""
    if database["ENGINE"] != "django.db.backends.sqlite3":
        found = {**database, "CONN_MAX_AGE": 60, "CONN_HEALTH_CHECKS": True}
        return _uncompiled(found) if "postgresql" in database["ENGINE"] else found
    options = {
        # IMMEDIATE: a deferred transaction that turns into a writer fails with
        # "database is locked" at once, however long the timeout is.
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": (
            f"PRAGMA journal_mode={_sqlite_journal_mode()};"
            "PRAGMA synchronous=FULL;PRAGMA foreign_keys=ON;"
            # What is deleted or changed is overwritten: a destroyed key stays in no free page.
            "PRAGMA secure_delete=ON;"
        ),
    }
    return {**database, "OPTIONS": options}


def replica(database: dict[str, Any], *, of: dict[str, Any]) -> dict[str, Any]:
    """Return the replica of a database, which nothing may be written to."""
    if "postgresql" not in database["ENGINE"] or "postgresql" not in of["ENGINE"]:
        raise ImproperlyConfigured(
            "DATABASE_REPLICA_URL and DATABASE_URL must both be of PostgreSQL."
        )
    options = {
        **database.get("OPTIONS", {}),
        "connect_timeout": 2,  # seconds: the database itself answers in its place
        "options": "-c default_transaction_read_only=on",
    }
    own = prepared({**database, "OPTIONS": options})
    return {**own, "TEST": {"MIRROR": "default"}}


def _uncompiled(database: dict[str, Any]) -> dict[str, Any]:
    """Return a PostgreSQL database whose plans are run as they are.

    By itself it compiles what it takes for long, and to compile takes longer (decision 0092).
    What an address or the environment asks for comes after this, and counts.
    """
    given = database.get("OPTIONS", {})
    wanted = ("-c jit=off", os.environ.get("PGOPTIONS", ""), given.get("options", ""))
    options = {**given, "options": " ".join(one for one in wanted if one)}
    return {**database, "OPTIONS": options}


def _sqlite_journal_mode() -> str:
    """Return WAL where SQLite's WAL-reset race (3.7.0 to 3.51.2) is fixed, else DELETE."""
    version = sqlite3.sqlite_version_info
    fixed = version >= (3, 51, 3) or (version[:2], version[2]) in {
        *(((3, 50), patch) for patch in range(7, 20)),
        *(((3, 44), patch) for patch in range(6, 20)),
    }
    return "WAL" if fixed else "DELETE"
