"""`manage.py backup FILE`: copy an embedded SQLite database and the photos, while in use."""

import contextlib
import hashlib
import io
import os
import sqlite3
import tarfile
from argparse import ArgumentParser
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import connection


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
            with contextlib.closing(sqlite3.connect(part)) as copy:
                connection.connection.backup(copy)
                (verdict,) = copy.execute("PRAGMA integrity_check").fetchone()
            if verdict != "ok":
                raise CommandError(f"The copy is damaged: {verdict}")
        self.stdout.write(f"Backed up to {file}; integrity check passed.")

    def _copy_media(self, archive: Path) -> int:
        """Write every file of the media folder; return how many, each compared."""
        with _whole(archive) as part:
            return self._write_media(part)

    def _write_media(self, archive: Path) -> int:
        root = Path(settings.MEDIA_ROOT)
        digests = {}
        with tarfile.open(archive, "w") as tar:
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
        with tarfile.open(archive) as tar:
            for entry in tar:
                read = tar.extractfile(entry)
                if read is None or hashlib.sha256(read.read()).digest() != digests[entry.name]:
                    raise CommandError(f"The copy of {entry.name} is damaged.")
        return len(digests)


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
