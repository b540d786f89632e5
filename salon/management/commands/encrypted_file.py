"""`manage.py encrypted_file SOURCE TARGET`: encrypt a file by the storage key, or open one."""

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import IO, Any

from django.core.management.base import BaseCommand, CommandError

from salon import encrypted_file, storage_key


class Command(BaseCommand):
    """Works in pieces, so also with what does not fit into memory."""

    help = (
        "Encrypt a file, such as a dump of the database, or open one with --open; - is a pipe."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("source", help="a file, or - for standard input")
        parser.add_argument("target", help="a new file, or - for standard output")
        parser.add_argument("--open", action="store_true", help="decrypt instead")

    def handle(self, *args: Any, source: str, target: str, **options: Any) -> None:
        if target != "-" and Path(target).exists():
            raise CommandError(f"{target} exists; name a new file.")
        part = Path(f"{target}.part")
        try:
            if target == "-":
                return _through(_opened(source), sys.stdout.buffer, is_opening=options["open"])
            part.touch(mode=0o600)
            with part.open("wb") as out:
                _through(_opened(source), out, is_opening=options["open"])
            part.replace(target)
        except (OSError, encrypted_file.Damaged, storage_key.KeyLost) as error:
            raise CommandError(str(error)) from error
        finally:
            if target != "-":
                part.unlink(missing_ok=True)
        return None


def _opened(source: str) -> IO[bytes]:
    return sys.stdin.buffer if source == "-" else Path(source).open("rb")


def _through(source: IO[bytes], out: IO[bytes], *, is_opening: bool) -> None:
    with source:
        if is_opening:
            for piece in encrypted_file.pieces(source):
                out.write(piece)
            return
        with encrypted_file.Writer(out) as closed:
            while content := source.read(encrypted_file.PIECE):
                closed.write(content)
