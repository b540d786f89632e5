"""`manage.py keys`: every key, since when it is in use, when it is due, what to do."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from salon import key_inventory


class Command(BaseCommand):
    """Says fingerprints only; ends with 0 whatever is due."""

    help = "List the keys of this installation, and which are due to be replaced."

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        for key in key_inventory.keys(at=now):
            word = "in use" if key.is_current else "former"
            self.stdout.write(
                f"{word}  {key.kind}  {key.fingerprint}  since {key.since:%Y-%m-%d}"
            )
            if key.due_at:
                due = "DUE since" if key.is_due(now) else "due on"
                self.stdout.write(f"        {due} {key.due_at:%Y-%m-%d}")
            self.stdout.write(f"        {key.what_to_do}")
        for stock in key_inventory.stocks():
            oldest = f", the oldest of {stock.oldest:%Y-%m-%d}" if stock.oldest else ""
            self.stdout.write(f"{stock.count}  {stock.kind}{oldest}: {stock.what_to_do}")
