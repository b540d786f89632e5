"""An embedded SQLite database: copied while in use, put back."""

import contextlib
import glob
import hashlib
import os
import sqlite3
import tempfile
import time
from collections.abc import Iterator
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
# What SQLite writes beside a file.
_BESIDE = ("-wal", "-shm", "-journal")
_COPYING = ".copying"
_LONGEST = 24 * 60 * 60  # seconds


class _TooBusy(Exception):
    """Raised to give up copying in steps."""


def copy(file: Path) -> None:
    """Write an encrypted copy to `file`, its integrity checked and read back."""
    if connection.in_atomic_block:  # it would wait for itself
        raise BackupFailed("No copy is taken inside of a transaction.")
    connection.ensure_connection()
    with whole(file) as part, _plain_copy() as plain:
        taken = hashlib.sha256()
        with (
            plain.open("rb") as source,
            part.open("wb") as out,
            encrypted_file.Writer(out) as closed,
        ):
            while piece := source.read(encrypted_file.PIECE):
                taken.update(piece)
                closed.write(piece)
        written = hashlib.sha256()
        with part.open("rb") as back:
            for piece in encrypted_file.pieces(back):
                written.update(piece)
        if written.digest() != taken.digest():
            raise BackupFailed("The copy is damaged: it does not read back.")


@contextlib.contextmanager
def _plain_copy() -> Iterator[Path]:
    """Give a sound copy as a file beside the database, which is no more open to others.

    Not in memory: years of a large salon are gigabytes. Nor in the backup's folder, which may
    be another machine's. Each has a file of its own: two backups may be made at once.
    """
    folder, name = _folder_and_name()
    _remove_left_behind(folder, name)
    number, made = tempfile.mkstemp(_COPYING, f"{name}.", folder)  # only its owner reads it
    os.close(number)
    place = Path(made)
    try:
        with contextlib.closing(sqlite3.connect(place)) as taken:
            taken.execute("PRAGMA journal_mode = OFF")
            taken.execute("PRAGMA synchronous = OFF")
            copy_in_steps(connection.connection, taken)
            _check(taken)
        yield place
    finally:
        for beside in ("", *_BESIDE):
            place.with_name(place.name + beside).unlink(missing_ok=True)


def _folder_and_name() -> tuple[Path, str]:
    """Return where the database lies and its name; one in memory lies nowhere."""
    (_number, _name, own), *_ = connection.connection.execute("PRAGMA database_list")
    return (Path(own).parent, Path(own).name) if own else (Path(tempfile.gettempdir()), "salon")


def _remove_left_behind(folder: Path, name: str) -> None:
    """Delete copies of runs that were killed: none takes a day."""
    for path in folder.glob(f"{glob.escape(name)}.*{_COPYING}*"):
        with contextlib.suppress(FileNotFoundError):
            if time.time() - path.stat().st_mtime > _LONGEST:
                path.unlink()


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
    for beside in _BESIDE:
        place.with_name(place.name + beside).unlink(missing_ok=True)


def _check(copied: sqlite3.Connection) -> None:
    try:
        (verdict,) = copied.execute("PRAGMA integrity_check").fetchone()
    except sqlite3.DatabaseError as error:
        verdict = str(error)
    if verdict != "ok":
        raise BackupFailed(f"The copy is damaged: {verdict}")
