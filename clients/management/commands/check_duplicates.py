"""Compare the possible duplicates that are kept with the registers of all salons."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from clients.people import possible_duplicates
from salon.models import Salon
from salon.work.each_salon import for_each_salon, say_failures


class Command(BaseCommand):
    help = "Compare the pairs of possible duplicates with the clients; --rebuild mends them."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--rebuild", action="store_true")

    def handle(self, *args: Any, rebuild: bool, **options: Any) -> None:
        """Count the pairs that are missing or wrong."""
        self._wrong, self._mends = 0, rebuild
        say_failures(for_each_salon(self._compare))
        if rebuild:
            self.stdout.write(f"{self._wrong} set right.")
        elif self._wrong:
            raise CommandError(f"{self._wrong} are missing or wrong; --rebuild mends them.")
        else:
            self.stdout.write("Every possible duplicate is kept.")

    def _compare(self, salon: Salon) -> None:
        if self._mends:  # in pieces: nobody who writes waits for the whole register
            self._wrong += possible_duplicates.rebuild(salon=salon)
            return
        with transaction.atomic():
            self._wrong += possible_duplicates.rebuild(salon=salon)
            transaction.set_rollback(True)
