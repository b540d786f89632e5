"""The diary's second guard: the table of appointments itself refuses an overlap.

The claims (`services.claims`) refuse first and say in words who is busy. This one holds for
rows that did not come through them. PostgreSQL: two exclusion constraints, added by a
migration, checked at the end of the transaction, since two inserts that exclude each other
at once would deadlock. SQLite has none: triggers do it, and they are as hard, since only one
transaction writes at a time. A table remake drops triggers without a word, so whatever is
missing is installed after every migration.
"""

from importlib import import_module
from typing import Any

from django.db import IntegrityError, connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.recorder import MigrationRecorder

REFUSAL = "double booking"
CONSTRAINTS = ("appointment_chair_single", "appointment_stylist_single")
TRIGGERS = ("appointment_single_on_insert", "appointment_single_on_update")

_MIGRATION = "0011_no_overlap"
_TABLE = "clients_appointment"
_IS_ACTIVE = "{row}.status NOT IN ('cancelled', 'no_show')"
_FIRST_END = "coalesce({row}.processing_from, {row}.ends_at)"
_HAS_SECOND = "{row}.processing_until < {row}.ends_at"  # unknown, and so no, where NULL
_PARTS = (
    "(o.starts_at < {first_new} AND NEW.starts_at < {first_o})"
    " OR ({second_o} AND o.processing_until < {first_new} AND NEW.starts_at < o.ends_at)"
    " OR ({second_new} AND o.starts_at < NEW.ends_at AND NEW.processing_until < {first_o})"
    " OR ({second_o} AND {second_new} AND o.processing_until < NEW.ends_at"
    " AND NEW.processing_until < o.ends_at)"
).format(
    first_new=_FIRST_END.format(row="NEW"),
    first_o=_FIRST_END.format(row="o"),
    second_new=_HAS_SECOND.format(row="NEW"),
    second_o=_HAS_SECOND.format(row="o"),
)
NEARBY = f"SELECT 1 FROM {_TABLE} o WHERE o.id <> NEW.id AND {_IS_ACTIVE.format(row='o')}"  # noqa: S608
# One day is searched, by the index of days, and neither all that a chair ever had nor all that
# came later: the plus signs keep SQLite from the indexes of chair and stylist. So that none is
# missed, none is longer. Whatever overlaps begins before the new one ends.
NEARBY += " AND o.salon_id = NEW.salon_id AND o.starts_at > datetime(NEW.starts_at, '-1 day')"
NEARBY += " AND o.starts_at < NEW.ends_at"
_TOO_LONG = "NEW.ends_at > datetime(NEW.starts_at, '+1 day')"
_BODY = f"""
    WHEN {_IS_ACTIVE.format(row="NEW")} BEGIN
    SELECT RAISE(ABORT, '{REFUSAL}') WHERE
        {_TOO_LONG}
        OR EXISTS ({NEARBY} AND +o.chair_id = NEW.chair_id
            AND NEW.starts_at < o.ends_at)
        OR EXISTS ({NEARBY} AND +o.stylist_id = NEW.stylist_id AND ({_PARTS}));
    END
"""
# What else changes, a note or a name, takes up no time.
_TAKES_TIME = (
    "salon_id", "status", "chair_id", "stylist_id", "starts_at", "ends_at", "processing_from",
    "processing_until",
)  # fmt: skip
_EVENTS = (f"AFTER INSERT ON {_TABLE}", f"AFTER UPDATE OF {', '.join(_TAKES_TIME)} ON {_TABLE}")


def install(connection: BaseDatabaseWrapper) -> None:
    """Install SQLite's triggers in place of any that exist, PostgreSQL's missing constraints.

    A constraint that rows in the table already break stays away; `missing` names it.
    """
    if connection.vendor != "sqlite":
        _put_back(connection)
        return
    with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
        for name, event in zip(TRIGGERS, _EVENTS, strict=True):
            cursor.execute(f"DROP TRIGGER IF EXISTS {name}")
            cursor.execute(_text(name, event))


def missing(connection: BaseDatabaseWrapper) -> list[str]:
    """Return the names of the guards that the database lacks, or has in other words.

    They are due from their migration on; before it, an older release's database needs none.
    """
    if ("clients", _MIGRATION) not in MigrationRecorder(connection).applied_migrations():
        return []
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
            installed = dict(cursor.fetchall())
            return [
                name
                for name, event in zip(TRIGGERS, _EVENTS, strict=True)
                if installed.get(name) != _text(name, event).strip()
            ]
        cursor.execute(
            "SELECT n.conname FROM pg_constraint n JOIN pg_class c ON c.oid = n.conrelid"
            " WHERE n.contype = 'x' AND c.relname = %s",
            [_TABLE],
        )
        installed = dict.fromkeys(name for (name,) in cursor.fetchall())
    return [name for name in CONSTRAINTS if name not in installed]


def _text(name: str, event: str) -> str:
    return f"CREATE TRIGGER {name} {event} {_BODY}"


def install_after_migrate(using: str = "default", **kwargs: Any) -> None:
    """Answer post_migrate, once the table has all its columns."""
    connection = connections[using]
    if "processing_until" in _columns(connection):
        install(connection)


def _put_back(connection: BaseDatabaseWrapper) -> None:
    definitions = import_module(f"clients.migrations.{_MIGRATION}").ADD
    for name in missing(connection):
        guard, where = definitions[name]
        try:
            with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
                cursor.execute(
                    f"ALTER TABLE {_TABLE} ADD CONSTRAINT {name} EXCLUDE USING gist"
                    f" ({guard}) WHERE ({where}) DEFERRABLE INITIALLY DEFERRED"
                )
        except IntegrityError:
            continue


def _columns(connection: BaseDatabaseWrapper) -> set[str]:
    with connection.cursor() as cursor:
        if _TABLE not in connection.introspection.table_names(cursor):
            return set()
        found = connection.introspection.get_table_description(cursor, _TABLE)
    return {column.name for column in found}
