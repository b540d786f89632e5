"""`manage.py restore FILE`: put a backup into an empty place."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from salon import encrypted_file, storage_key
from salon.backups import photos, postgres, sqlite
from salon.backups.files import BackupFailed


class Command(BaseCommand):
    """Writes over nothing: a database or photos that are there have to be moved away first."""

    help = "Put the database of FILE, and the photos of FILE.photos.tar, into an empty place."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument(
            "--photos", dest="archive", type=Path, help="the archive, if it is elsewhere"
        )
        parser.add_argument("--without-photos", action="store_true")

    def handle(
        self, *args: Any, file: Path, archive: Path | None, without_photos: bool, **options: Any
    ) -> None:
        archive = archive or file.with_name(f"{file.name}.photos.tar")
        for needed in [file] if without_photos else [file, archive]:
            if not needed.exists():
                raise CommandError(f"There is no {needed}.")
        try:
            self._put_back(file, None if without_photos else archive)
        except (BackupFailed, encrypted_file.Damaged, storage_key.KeyLost) as error:
            raise CommandError(str(error)) from error
        self.stdout.write(
            "Now run `manage.py migrate` (and `serving_account`), `manage.py"
            " replay_erasures` and `manage.py verify_signoffs`, then start the service."
        )

    def _put_back(self, file: Path, archive: Path | None) -> None:
        if connection.vendor == "sqlite":
            connection.close()
            sqlite.put_back(file)
        else:
            postgres.put_back(file)
        self.stdout.write(f"Put back the database of {file}.")
        if archive is not None:
            count = photos.put_back(archive)
            self.stdout.write(f"Put back {count} photo files of {archive}.")
