"""`manage.py sweep_photos`: files without a photo are deleted, photos without a file named."""

import time
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from clients.models import Photo
from clients.photos import store

GRACE_SECONDS = 3600  # one that is being taken right now has its file before its row


class Command(BaseCommand):
    """A crash between file and row leaves one without the other; this puts it right."""

    help = "Delete picture files that no photo stands for, and name photos without a file."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--dry-run", action="store_true", help="only say what would be done"
        )

    def handle(self, *args: Any, dry_run: bool, **options: Any) -> None:
        referenced = set(
            Photo.objects.filter(removal__isnull=True).values_list("salon_id", "key")
        )
        on_disk = set()
        left = set()
        for salon, key, changed in store.keys_on_disk():
            on_disk.add((salon, key))
            if (salon, key) not in referenced and time.time() - changed > GRACE_SECONDS:
                left.add((salon, key))
        for salon, key in left:
            if not dry_run:
                store.remove(salon, key)
        for salon, key in sorted(referenced - on_disk, key=str):
            self.stdout.write(f"Salon {salon}: the file of photo {key} is missing.")
        verb = "would be deleted" if dry_run else "deleted"
        self.stdout.write(f"{len(left)} left-over pictures {verb}; {len(referenced)} stand.")
