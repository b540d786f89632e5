"""An embedded SQLite database: copied while in use, put back."""

import contextlib
import hashlib
import sqlite3
from pathlib import Path

from django.conf import settings
from django.db import connection

from salon import encrypted_file
from salon.backups.files import BackupFailed, opened, whole

# A step reads so many pages under one lock (4 MB as SQLite cuts them): writers wait for one
# step, not for the whole file.
PAGES = 1000
PAUSE = 0.005  # seconds in which writers get their turn
# A write in between makes SQLite begin again; after so many times it goes through at once.
MOST_RESTARTS = 20


class _TooBusy(Exception):
    """Raised to give up copying in steps."""


def copy(file: Path) -> None:
    """Write an encrypted copy to `file`, its integrity checked and read back."""
    if connection.in_atomic_block:  # it would wait for itself
        raise BackupFailed("No copy is taken inside of a transaction.")
    connection.ensure_connection()
    with whole(file) as part:
        # In memory: no plain copy of the database is on the disk.
        with contextlib.closing(sqlite3.connect(":memory:")) as taken:
            copy_in_steps(connection.connection, taken)
            _check(taken)
            content = taken.serialize()
        with part.open("wb") as out, encrypted_file.Writer(out) as closed:
            closed.write(content)
        with part.open("rb") as back:
            written = hashlib.sha256()
            for piece in encrypted_file.pieces(back):
                written.update(piece)
        if written.digest() != hashlib.sha256(content).digest():
            raise BackupFailed("The copy is damaged: it does not read back.")


def copy_in_steps(source: sqlite3.Connection, target: sqlite3.Connection) -> None:
    """Copy a database that others go on writing to."""
    fewest, restarts = float("inf"), 0

    def watch(_status: int, remaining: int, _total: int) -> None:
        nonlocal fewest, restarts
        restarts += remaining > fewest
        fewest = remaining
        if restarts > MOST_RESTARTS:
            raise _TooBusy

    try:
        source.backup(target, pages=PAGES, progress=watch, sleep=PAUSE)
    except _TooBusy:
        source.backup(target)


def put_back(file: Path) -> None:
    """Put a copy where the service looks for its database; nothing may be there yet."""
    place = Path(settings.DATABASES["default"]["NAME"])
    if place.exists() and place.stat().st_size:
        raise BackupFailed(f"There is a database at {place}. Move it away first.")
    place.parent.mkdir(parents=True, exist_ok=True)
    with whole(place) as part:
        with file.open("rb") as source, part.open("wb") as out:
            for piece in opened(source):
                out.write(piece)
        with contextlib.closing(sqlite3.connect(part)) as copied:
            _check(copied)
    for beside in ("-wal", "-shm", "-journal"):
        place.with_name(place.name + beside).unlink(missing_ok=True)


def _check(copied: sqlite3.Connection) -> None:
    try:
        (verdict,) = copied.execute("PRAGMA integrity_check").fetchone()
    except sqlite3.DatabaseError as error:
        verdict = str(error)
    if verdict != "ok":
        raise BackupFailed(f"The copy is damaged: {verdict}")
