"""Measure the search: what people type at a desk, letter by letter, and how long it takes."""

import random
import statistics
import time
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from clients.models import Client
from clients.people import search
from salon.models import Salon


class Command(BaseCommand):
    help = "Print the median and the 95th percentile of the search, in milliseconds."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--people", type=int, default=40)
        parser.add_argument("--seed", type=int, default=7)

    def handle(self, *args: Any, **options: Any) -> None:
        salon = Salon.objects.order_by("pk").first()
        count = Client.objects.for_salon(salon).count() if salon else 0
        if salon is None or not count:
            raise CommandError("There is nobody to find.")
        chance = random.Random(options["seed"])  # noqa: S311
        ids = list(Client.objects.for_salon(salon).order_by().values_list("pk", flat=True))
        sample = list(Client.objects.filter(pk__in=chance.sample(ids, options["people"])))
        search.find(salon=salon, text="warm up", most=20)
        everything: list[float] = []
        self.stdout.write(f"{count} clients on {connection.vendor}")
        for kind, typed in _typed(sample, chance).items():
            times = [self._time(salon, text) for text in typed]
            everything += times
            self._report(kind, times)
        self._report("all", everything)

    def _time(self, salon: Salon, text: str) -> float:
        began = time.perf_counter()
        search.find(salon=salon, text=text, most=20)
        return (time.perf_counter() - began) * 1000

    def _report(self, kind: str, times: list[float]) -> None:
        p95 = statistics.quantiles(times, n=20, method="inclusive")[-1]
        self.stdout.write(
            f"{kind:24} n {len(times):4}  median {statistics.median(times):6.1f} ms"
            f"  p95 {p95:6.1f} ms  longest {max(times):6.1f} ms"
        )


def _typed(sample: list[Client], chance: random.Random) -> dict[str, list[str]]:
    """Return what is typed for each person, by kind."""
    found: dict[str, list[str]] = {}
    for client in sample:
        first, last = client.name.split()[0], client.name.split()[-1]
        for length in (1, 2, 3, 5):
            found.setdefault(f"first {length} letters", []).append(last[:length])
        found.setdefault("two beginnings", []).append(f"{first[:2]} {last[:2]}")
        found.setdefault("whole name", []).append(client.name)
        found.setdefault("one mistake", []).append(_mistaken(last, chance))
        phone = str(client.phone)
        found.setdefault("phone", []).append("0" + phone[3:])
        found.setdefault("last four of the phone", []).append(phone[-4:])
        found.setdefault("e-mail", []).append(client.email[:9])
        found.setdefault("birth date", []).append(f"{client.birth_date:%d/%m/%Y}")
        found.setdefault("nobody", []).append(last[:4] + "qqq")
    return found


def _mistaken(word: str, chance: random.Random) -> str:
    """Return the word with two neighbouring letters swapped."""
    place = chance.randint(1, max(1, len(word) - 2))
    return word[:place] + word[place : place + 2][::-1] + word[place + 2 :]
