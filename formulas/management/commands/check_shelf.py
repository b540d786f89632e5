"""Compare every balance of the shelf with its movements, and their salon with its line's."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from formulas import selectors
from formulas.models import ShelfBalance


class Command(BaseCommand):
    help = "Compare the balances of the shelf with their movements; --rebuild sets them right."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--rebuild", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        """Name every movement of another salon and every shade whose balance is wrong."""
        elsewhere = list(selectors.movements_of_another_salon().values_list("pk", flat=True))
        if elsewhere:
            raise CommandError(f"Movements with another salon than their line: {elsewhere}")
        wrong = selectors.wrong_balances()
        for pk, held, moved in wrong:
            self.stdout.write(f"shade {pk}: balance {held} g, movements {moved} g")
        if options["rebuild"]:
            _rebuild()
            self.stdout.write(f"{len(wrong)} set right.")
        elif wrong:
            raise CommandError(f"{len(wrong)} balances are wrong; --rebuild sets them right.")
        else:
            self.stdout.write("Every balance is the sum of its movements.")


@transaction.atomic
def _rebuild() -> None:
    """Set every balance to the sum of its movements, each locked before it is summed."""
    wrong = {pk for pk, _held, _moved in selectors.wrong_balances()}
    for pk in sorted(wrong):
        ShelfBalance.objects.get_or_create(shade_id=pk)
        ShelfBalance.objects.select_for_update().get(shade=pk)
    for pk, _held, moved in selectors.wrong_balances():
        if pk in wrong:
            ShelfBalance.objects.filter(shade=pk).update(grams=moved)
