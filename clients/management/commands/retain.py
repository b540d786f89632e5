"""`manage.py retain`, each night: erase what is past its time, close yearly holidays ahead."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from clients.privacy import erasure_list
from clients.sealed import keys
from clients.selectors.privacy import overdue
from clients.services import enter_yearly, run_retention
from salon.models import Salon
from salon.work.each_salon import for_each_salon, say_failures

WORDS = {
    "people": "people past the years that records are kept",
    "requested": "people who asked for it",
    "kept": "people of whom nothing has to be kept any more",
    "photos": "photos",
    "messages": "reminders",
    "imports": "rows of imported lists",
    "busy": "who asked for it and are booked again: not erased",
}


class Command(BaseCommand):
    help = "Erase expired records, close yearly holidays ahead. Safe to call again."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--dry-run", action="store_true", help="only say what would go")

    def handle(self, *args: Any, dry_run: bool, **options: Any) -> None:
        failed = for_each_salon(lambda salon: self._retain(salon, dry_run))
        added = 0 if dry_run else erasure_list.complete()
        if added:
            self.stdout.write(f"{added} added to {erasure_list.path()}.")
        say_failures(failed)

    def _retain(self, salon: Salon, dry_run: bool) -> None:
        now = timezone.now()
        with keys.at_hand():
            counts = (
                overdue(salon=salon, at=now).counts()
                if dry_run
                else run_retention(salon=salon, at=now).counts
            )
        entered = [] if dry_run else enter_yearly(salon=salon, at=now)
        if entered:
            self.stdout.write(f"{salon}: closed on {len(entered)} more public holidays")
        self.stdout.write(f"{salon}: " + ("would erase" if dry_run else "erased"))
        for name, count in counts.items():
            self.stdout.write(f"  {count:6d}  {WORDS[name]}")
