"""`manage.py signing_key`: say which keys sign-offs are signed by; make one."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.exceptions import ImproperlyConfigured
from django.core.management.base import BaseCommand, CommandError

from salon import signing_keys


class Command(BaseCommand):
    """Public halves only: the private one is never printed."""

    help = "Show the keys that sign-offs are signed by, or make a new one in a file."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--make", type=Path, metavar="FILE", help="a new file for it")

    def handle(self, *args: Any, **options: Any) -> None:
        file: Path | None = options["make"]
        if file:
            if file.exists():
                raise CommandError(f"{file} exists; name a new file.")
            made = signing_keys.make(file)
            self.stdout.write(f"Made key {made.key_id} in {file}. Keep a copy elsewhere.")
            return
        try:
            keys = signing_keys.known()
        except ImproperlyConfigured as error:
            raise CommandError(str(error)) from error
        for key in keys:
            word = "current" if key == keys[-1] else "former"
            self.stdout.write(f"{word}  {key.key_id}  public {key.text}")
