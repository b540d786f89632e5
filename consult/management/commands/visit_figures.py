"""`manage.py visit_figures`: keep what closed visits add to sums, or compare it."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from consult.history import kept_figures
from salon.models import Salon


class Command(BaseCommand):
    help = "Work out the figures of closed visits that have none. Safe to call again."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--check", action="store_true", help="compare those kept with the records instead"
        )
        parser.add_argument("--again", action="store_true", help="recalculate all of them")

    def handle(self, *args: Any, check: bool, again: bool, **options: Any) -> None:
        wrong = 0
        for salon in Salon.objects.order_by("pk"):
            count = 0
            pieces = kept_figures.kept if check or again else kept_figures.missing
            for pks in pieces(salon):
                count += len(pks)
                if not check:
                    kept_figures.keep(pks, salon=salon, has_later=not again)
                    continue
                for pk in kept_figures.differing(pks, salon=salon):
                    wrong += 1
                    self.stdout.write(f"visit {pk}: not what its records say")
            for pks in () if check else kept_figures.incomplete(salon):
                count += len(pks)
                kept_figures.complete(pks)
            done = "compared" if check else "worked out"
            self.stdout.write(f"{salon}: {count} visits {done}.")
        if wrong:
            raise CommandError(f"{wrong} differ. `manage.py visit_figures --again` mends them.")
