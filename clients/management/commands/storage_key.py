"""`manage.py storage_key`: which key opens what is stored; make one, wrap everything again."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.exceptions import ImproperlyConfigured
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from clients.sealed import recovery
from salon import storage_key


class Command(BaseCommand):
    """Names only: the key itself is on the recovery sheet and nowhere else."""

    help = "Show the keys that open what is stored, make one, or wrap everything again."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--make", type=Path, metavar="FILE", help="a new file for it")
        parser.add_argument(
            "--wrap-again",
            action="store_true",
            help="wrap the keys of all clients under the key in use",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            if options["make"]:
                return self._make(options["make"])
            if options["wrap_again"]:
                with transaction.atomic():
                    count = recovery.wrap_again()
                self.stdout.write(f"Wrapped {count} keys of clients under {recovery.name()}.")
                return None
            recovery.try_newest()
            for number, key in enumerate(storage_key.known()):
                word = "former" if number else "current"
                self.stdout.write(f"{word}  {storage_key.name_of(key)}")
        except (ImproperlyConfigured, storage_key.KeyLost) as error:
            raise CommandError(str(error)) from error
        return None

    def _make(self, file: Path) -> None:
        if file.exists():
            raise CommandError(f"{file} exists; name a new file.")
        made = storage_key.make(file)
        self.stdout.write(
            f"Made key {storage_key.name_of(made)} in {file}. Keep a copy elsewhere."
        )
