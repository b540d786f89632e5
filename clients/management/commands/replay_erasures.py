"""`manage.py replay_erasures`: erase again whom a restored backup brought back."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from clients.privacy import erasure_list
from clients.services import replay_erasures


class Command(BaseCommand):
    help = "Erase again, after a restore, whose data were erased since the backup."

    def handle(self, *args: Any, **options: Any) -> None:
        count = replay_erasures(at=timezone.now())
        self.stdout.write(f"{count} entries erased again, by {erasure_list.path()}.")
