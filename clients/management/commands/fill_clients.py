"""Fill a salon with invented clients, to measure how the search does at size."""

import time
from argparse import ArgumentParser
from itertools import islice
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from clients.models import Client
from clients.people import possible_duplicates, search_index
from clients.people.invented import people
from salon.models import Salon
from salon.tools import bulk_rows

_BATCH = 5000


class Command(BaseCommand):
    help = "Add invented clients in bulk to a salon (for measuring, never in a real one)."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--count", type=int, default=200_000)
        parser.add_argument("--seed", type=int, default=1)
        parser.add_argument("--salon", type=int, help="its id; the first one by default")

    def handle(self, *args: Any, **options: Any) -> None:
        chosen = (
            Salon.objects.filter(pk=options["salon"]) if options["salon"] else Salon.objects
        )
        salon = chosen.order_by("pk").first()
        if salon is None:
            raise CommandError("No such salon. Found one first.")
        began = time.perf_counter()
        source = people(
            salon=salon, count=options["count"], seed=options["seed"], at=timezone.now()
        )
        added = 0
        while batch := list(islice(source, _BATCH)):
            with transaction.atomic():
                search_index.index(Client.objects.bulk_create(batch))
            added += len(batch)
        possible_duplicates.rebuild(salon=salon)
        bulk_rows.settle()
        seconds = time.perf_counter() - began
        self.stdout.write(f"{added} clients added to {salon} in {seconds:.0f} s.")
