"""`manage.py backup FILE`: copy an embedded SQLite database and the photos, while in use.

Both are encrypted by the storage key; `manage.py encrypted_file --open` gives them back.
"""

import contextlib
import hashlib
import io
import os
import sqlite3
import tarfile
from argparse import ArgumentParser
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any, cast

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from salon import encrypted_file


class Command(BaseCommand):
    """Copy by SQLite's backup API, then check the copy; a plain file copy may be torn.

    The photos go into an archive beside it, after the database: a photo taken in between is
    one file too many, never one too few.
    """

    help = "Back up the embedded SQLite database to FILE and the photos to FILE.photos.tar."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument(
            "--photos-only",
            action="store_true",
            help="only the photos, to FILE (beside pg_dump)",
        )

    def handle(self, *args: Any, file: Path, photos_only: bool, **options: Any) -> None:
        if connection.vendor != "sqlite" and not photos_only:
            raise CommandError("This database is not SQLite; use pg_dump, and --photos-only.")
        archive = file if photos_only else file.with_name(f"{file.name}.photos.tar")
        for new in {file, archive}:
            if new.exists():
                raise CommandError(f"{new} exists; name a new file.")
        if not photos_only:
            self._copy_database(file)
        count = self._copy_media(archive)
        self.stdout.write(f"Backed up {count} photo files to {archive}; each was read back.")

    def _copy_database(self, file: Path) -> None:
        connection.ensure_connection()
        with _whole(file) as part:
            # In memory: no plain copy of the database lies on the disk.
            with contextlib.closing(sqlite3.connect(":memory:")) as copy:
                connection.connection.backup(copy)
                (verdict,) = copy.execute("PRAGMA integrity_check").fetchone()
                if verdict != "ok":
                    raise CommandError(f"The copy is damaged: {verdict}")
                content = copy.serialize()
            with part.open("wb") as out, encrypted_file.Writer(out) as closed:
                closed.write(content)
            with part.open("rb") as back:
                written = hashlib.sha256()
                for piece in encrypted_file.pieces(back):
                    written.update(piece)
            if written.digest() != hashlib.sha256(content).digest():
                raise CommandError("The copy is damaged: it does not read back.")
        self.stdout.write(f"Backed up to {file}; integrity check passed.")

    def _copy_media(self, archive: Path) -> int:
        """Write every file of the media folder; return how many, each compared."""
        with _whole(archive) as part:
            return self._write_media(part)

    def _write_media(self, archive: Path) -> int:
        root = Path(settings.MEDIA_ROOT)
        digests = {}
        with (
            archive.open("wb") as out,
            encrypted_file.Writer(out) as closed,
            tarfile.open(fileobj=closed, mode="w|") as tar,
        ):
            for path in sorted(root.rglob("*")):
                if path.is_symlink() or not path.is_file():
                    continue
                try:
                    content = path.read_bytes()
                except FileNotFoundError:  # deleted for good meanwhile
                    continue
                name = path.relative_to(root).as_posix()
                entry = tarfile.TarInfo(name)
                entry.size, entry.mode = len(content), 0o600
                entry.mtime = int(path.stat().st_mtime) if path.exists() else 0
                tar.addfile(entry, io.BytesIO(content))
                digests[name] = hashlib.sha256(content).digest()
        with archive.open("rb") as back, _opened(back) as tar:
            for entry in tar:
                read = tar.extractfile(entry)
                if read is None or hashlib.sha256(read.read()).digest() != digests[entry.name]:
                    raise CommandError(f"The copy of {entry.name} is damaged.")
        return len(digests)


def _opened(archive: IO[bytes]) -> tarfile.TarFile:
    """Return an encrypted archive to be read once, from its beginning."""
    return tarfile.open(fileobj=cast("IO[bytes]", _Reader(archive)), mode="r|")


class _Reader:
    """What `tarfile` reads from: an encrypted file, piece by piece."""

    def __init__(self, source: IO[bytes]) -> None:
        self._pieces, self._rest = encrypted_file.pieces(source), b""

    def read(self, size: int) -> bytes:
        """Return the next bytes, fewer only at the end."""
        while len(self._rest) < size and (piece := next(self._pieces, b"")):
            self._rest += piece
        found, self._rest = self._rest[:size], self._rest[size:]
        return found


@contextlib.contextmanager
def _whole(file: Path) -> Iterator[Path]:
    """Give a file to write to that gets its name once it is complete; half a one is deleted.

    Only its owner reads it: health data lies in it.
    """
    part = file.with_name(f"{file.name}.part")
    part.unlink(missing_ok=True)  # of a run that was killed
    part.touch(mode=0o600)
    try:
        yield part
        with part.open("rb") as done:
            os.fsync(done.fileno())
        part.replace(file)
    finally:
        part.unlink(missing_ok=True)
