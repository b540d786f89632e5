"""`manage.py backup [FILE]`: copy the database and the photos while the salon is in use.

Both are encrypted by the storage key; `manage.py restore` puts them back.
"""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from salon.backups import photos, postgres, sqlite
from salon.backups.files import BackupFailed
from salon.work import nightly


class Command(BaseCommand):
    """Nobody has to stop working: SQLite is copied in small steps, PostgreSQL by pg_dump.

    The photos go into an archive beside it, after the database: a photo taken in between is
    one file too many, never one too few.
    """

    help = (
        "Back up the database to FILE and the photos to FILE.photos.tar, both encrypted;"
        " without FILE into BACKUP_DIR, as each night."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, nargs="?")
        parser.add_argument(
            "--photos-only",
            action="store_true",
            help="only the photos, to FILE (where pg_dump runs elsewhere)",
        )

    def handle(self, *args: Any, file: Path | None, photos_only: bool, **options: Any) -> None:
        if file is None:
            if not nightly.has_folder() or photos_only:
                raise CommandError("Name a new file.")
            file = nightly.next_file()
        archive = file if photos_only else file.with_name(f"{file.name}.photos.tar")
        for new in {file, archive}:
            if new.exists():
                raise CommandError(f"{new} exists; name a new file.")
        try:
            if not photos_only:
                (sqlite if connection.vendor == "sqlite" else postgres).copy(file)
                self.stdout.write(f"Backed up to {file}; it reads back.")
            count = photos.copy(archive)
        except BackupFailed as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"Backed up {count} photo files to {archive}; each was read back.")
