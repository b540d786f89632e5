"""`manage.py encrypt_photos`: encrypt photos that an earlier release wrote plain."""

from typing import Any

from django.core.management.base import BaseCommand

from clients.models import Photo
from clients.photos import store
from clients.sealed import keys


class Command(BaseCommand):
    """Each file is replaced at once; it may be stopped and run again."""

    help = "Encrypt photos that are not encrypted on the disk."

    def handle(self, *args: Any, **options: Any) -> None:
        count = 0
        with keys.at_hand():
            for photo in Photo.objects.filter(removal__isnull=True).iterator(chunk_size=200):
                count += store.encrypt(photo)
        self.stdout.write(f"{count} photos encrypted.")
