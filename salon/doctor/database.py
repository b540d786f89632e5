"""The database: its version, its clock, the account that serves."""

import datetime as dt
import sqlite3
from collections.abc import Iterator

from django.conf import settings
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connection, connections
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone

from salon import serving_account
from salon.doctor import Finding, fine, odd, wrong
from salon.models import AuditEvent
from salon.replica import standing
from salon.replica.router import REPLICA

SKEW = dt.timedelta(seconds=5)
POSTGRES = 14  # the oldest that Django 5.2 supports


def reachable() -> Iterator[Finding]:
    """Look whether the database answers, and has the tables of this release."""
    address = connection.settings_dict["HOST"] or connection.settings_dict["NAME"]
    try:
        connection.ensure_connection()
        executor = MigrationExecutor(connection)
        plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
    except DatabaseError as error:
        yield wrong(
            "Database",
            f"It cannot be reached at {address}: {str(error).strip()}",
            "Start it, or mend DATABASE_URL.",
        )
        return
    if plan:
        yield wrong(
            "Database",
            f"{len(plan)} migrations of this release are missing.",
            "Back up, then run `manage.py migrate` (as the account that owns the tables), and"
            " `manage.py serving_account` after it.",
        )


def version() -> Iterator[Finding]:
    """Look at kind and version of the database."""
    if connection.vendor == "sqlite":
        yield fine("Database", f"SQLite {sqlite3.sqlite_version}, for one machine.")
        return
    with connection.cursor() as cursor:
        cursor.execute("SHOW server_version")
        found = cursor.fetchone()[0]
    if int(found.split(".")[0]) < POSTGRES:
        yield wrong(
            "Database",
            f"This is PostgreSQL {found}.",
            f"Move to PostgreSQL {POSTGRES} or newer.",
        )
    else:
        yield fine("Database", f"PostgreSQL {found}.")


def clock() -> Iterator[Finding]:
    """Compare the clock of this process with the database's and with what was recorded."""
    now, there = timezone.now(), database_now()
    off = abs(there - now)
    if off > SKEW:
        yield wrong(
            "Clock",
            f"The clocks of this machine and of the database differ by"
            f" {off.total_seconds():.0f} seconds.",
            "Let both set their clocks by the network (timedatectl set-ntp true): waiting times"
            " of skin tests and of processing are counted by them.",
        )
    last = AuditEvent.objects.order_by("-pk").first()
    newest = last.at if last else now
    if newest > now + SKEW:
        yield wrong(
            "Clock",
            f"Something was recorded at {newest:%Y-%m-%d %H:%M} UTC, later than now"
            f" ({now:%Y-%m-%d %H:%M}).",
            "The clock was wrong then or is wrong now. Set it right before anybody goes on.",
        )
    elif off <= SKEW:
        yield fine("Clock", f"It is {now:%Y-%m-%d %H:%M:%S} UTC here and in the database.")


def database_now() -> dt.datetime:
    """Return what time it is for the database."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT strftime('%s', 'now')")
            return dt.datetime.fromtimestamp(int(cursor.fetchone()[0]), dt.UTC)
        cursor.execute("SELECT clock_timestamp()")
        found: dt.datetime = cursor.fetchone()[0]
        return found


def account() -> Iterator[Finding]:
    """Look whether the account that serves could remove the guards of what was signed."""
    if connection.vendor == "sqlite":
        return
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT current_user, rolsuper FROM pg_roles WHERE rolname = current_user"
        )
        name, is_superuser = cursor.fetchone()
    if is_superuser or serving_account.may_alter(connection):
        what = "is a superuser" if is_superuser else "owns the tables"
        yield odd(
            "Account",
            f"The account {name} {what}: whoever has its password can change what was signed.",
            "Run `SERVING_PASSWORD=… manage.py serving_account salon_web` as the owner of the"
            " database, and let the service use that account in DATABASE_URL.",
        )
    else:
        yield fine("Account", f"{name} serves and cannot alter or empty a table.")


def replica() -> Iterator[Finding]:
    """Look whether the replica answers, belongs to this database and is near it."""
    if not standing.is_set():
        return
    most = settings.REPLICA_MOST_MINUTES
    instead = "Until then the database itself is read instead."
    try:
        found = standing.look_twice()
        is_another = _identity(DEFAULT_DB_ALIAS) != _identity(REPLICA)
    except (standing.NoReplica, DatabaseError) as error:
        yield odd(
            "Replica",
            f"It cannot be read: {error}.",
            f"Mend it, or take out DATABASE_REPLICA_URL. {instead}",
        )
        return
    if is_another:
        yield wrong(
            "Replica",
            "It is the replica of another database.",
            "Let DATABASE_REPLICA_URL name a replica of the server in DATABASE_URL.",
        )
    elif found.age is None or found.age > dt.timedelta(minutes=most):
        behind = (
            "an unknown time"
            if found.age is None
            else f"{found.age.total_seconds():.0f} seconds"
        )
        yield odd(
            "Replica",
            f"It is {behind} behind; {most} minutes are allowed.",
            f"See in its log what it waits for. {instead}",
        )
    else:
        yield fine("Replica", f"It is {_behind(found)} behind.")


def _behind(found: standing.Standing) -> str:
    return "an unknown time" if found.age is None else f"{found.age.total_seconds():.0f} s"


def _identity(alias: str) -> int:
    """Return the number that a server and its replicas share."""
    with connections[alias].cursor() as cursor:
        cursor.execute("SELECT system_identifier FROM pg_control_system()")
        return int(cursor.fetchone()[0])
