"""`manage.py recovery_sheet FILE.pdf`: print the keys, before they are lost."""

import base64
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from clients.sealed import recovery
from consult.paper.pdf import Paper, printed_paper
from consult.services import record_recovery_sheet
from salon import languages, signing_keys, storage_key
from salon.drawing.qr import qr_svg
from salon.models import Salon

PAGE = Paper("cards/recovery.html")


class Command(BaseCommand):
    """For a safe, on paper: whoever has it and a backup reads everything."""

    help = "Write a page with the keys of this installation; print it and delete the file."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, file: Path, **options: Any) -> None:
        if file.exists():
            raise CommandError(f"{file} exists; name a new file.")
        salon, now = Salon.objects.order_by("pk").first(), timezone.now()
        if salon is None:
            raise CommandError("There is no salon yet.")
        with languages.speaking(salon.language):
            content = printed_paper(PAGE, {"at": now, "salon": salon, "keys": _keys()}).content
        file.touch(mode=0o600)
        file.write_bytes(content)
        for each in Salon.objects.order_by("pk"):
            record_recovery_sheet(salon=each, key=recovery.name(), at=now)
        self.stdout.write(f"Print {file}, put it into a safe, then delete the file.")


def _keys() -> list[dict[str, str]]:
    found = [
        {"variable": "STORAGE_KEY" if not number else "FORMER_STORAGE_KEYS",
         "name": storage_key.name_of(key), "text": base64.b64encode(key).decode()}
        for number, key in enumerate(storage_key.known())
    ]  # fmt: skip
    if settings.SIGNING_KEY or settings.SIGNING_KEY_FILE:
        private = signing_keys.signer().private.private_bytes_raw()
        found.append(
            {
                "variable": "SIGNING_KEY",
                "name": signing_keys.signer().public.key_id,
                "text": base64.b64encode(private).decode(),
            }
        )
    return [{**key, "qr": qr_svg(key["text"], title=key["variable"])} for key in found]
