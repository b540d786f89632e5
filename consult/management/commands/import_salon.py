"""`manage.py import_salon FILE`: take a whole salon in, into a new installation."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from consult.agreement import verification
from consult.portability import salon_file
from salon import encrypted_file, storage_key


class Command(BaseCommand):
    """All of it or nothing; afterwards the chain of sign-offs is verified."""

    help = "Take in a salon that `manage.py export_salon` wrote."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, file: Path, **options: Any) -> None:
        try:
            with file.open("rb") as source:
                salon = salon_file.read(source)
        except (
            OSError,
            encrypted_file.Damaged,
            storage_key.KeyLost,
            salon_file.CannotImport,
        ) as error:
            raise CommandError(str(error)) from error
        broken = verification.fault_in(salon)
        if broken:
            raise CommandError(f"Sign-off {broken.number}: {broken.reason}")
        self.stdout.write(f"{salon} is here; its sign-offs verify.")
