"""`manage.py export_salon FILE`: everything of a salon in one encrypted file."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from consult.portability import salon_file
from salon.models import Salon


class Command(BaseCommand):
    """For moving house; a backup is `manage.py backup`."""

    help = "Write a whole salon to FILE, to be taken in by `manage.py import_salon`."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--salon", type=int, help="its number, where there are several")

    def handle(self, *args: Any, file: Path, salon: int | None, **options: Any) -> None:
        if file.exists():
            raise CommandError(f"{file} exists; name a new file.")
        found = list(Salon.objects.filter(pk=salon) if salon else Salon.objects.all()[:2])
        if len(found) != 1:
            raise CommandError("Name the salon by --salon NUMBER.")
        counts = salon_file.write_to(found[0], file)
        self.stdout.write(f"{found[0]}: {sum(counts.values())} rows to {file}, encrypted.")
