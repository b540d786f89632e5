"""`manage.py sweep_photos`: files without a photo are deleted, photos without a file named."""

import datetime as dt
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from clients.models import Photo
from clients.photos import received, store

GRACE = dt.timedelta(hours=1)  # one that is being taken right now has its file before its row


class Command(BaseCommand):
    """A crash between file and row leaves one without the other; this puts it right."""

    help = "Delete picture files that belong to no photo, and name photos without a file."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--dry-run", action="store_true", help="only say what would be done"
        )

    def handle(self, *args: Any, dry_run: bool, **options: Any) -> None:
        referenced = set(
            Photo.objects.filter(removal__isnull=True).values_list("salon_id", "key")
        )
        referenced |= {(photo.salon_id, photo.key) for photo in received.all_photos()}
        stored = set()
        left = set()
        for salon, key, written in store.stored_keys():
            stored.add((salon, key))
            if (salon, key) not in referenced and timezone.now() - written > GRACE:
                left.add((salon, key))
        for salon, key in left:
            if not dry_run:
                store.remove(salon, key)
        for salon, key in sorted(referenced - stored, key=str):
            self.stdout.write(f"Salon {salon}: the file of photo {key} is missing.")
        verb = "would be deleted" if dry_run else "deleted"
        self.stdout.write(f"{len(left)} left-over pictures {verb}; {len(referenced)} stand.")
