"""`manage.py backup FILE`: copy an embedded SQLite database while it is in use."""

import sqlite3
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import connection


class Command(BaseCommand):
    """Copy by SQLite's backup API, then check the copy; a plain file copy may be torn."""

    help = "Back up the embedded SQLite database to a new file."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, file: Path, **options: Any) -> None:
        if connection.vendor != "sqlite":
            raise CommandError("This database is not SQLite; use pg_dump.")
        if file.exists():
            raise CommandError(f"{file} exists; name a new file.")
        connection.ensure_connection()
        with sqlite3.connect(file) as copy:
            connection.connection.backup(copy)
            (verdict,) = copy.execute("PRAGMA integrity_check").fetchone()
        copy.close()
        if verdict != "ok":
            raise CommandError(f"The copy is damaged: {verdict}")
        self.stdout.write(f"Backed up to {file}; integrity check passed.")
