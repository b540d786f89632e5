"""`manage.py fill_salon`: the demo salon with a register and a past of any size."""

import time
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from consult.demo import crowd
from salon.models import Salon

_A_STYLIST = 7_500  # visits in five years
_MOST_YEARS = 15  # before that, whom the visits are copied from were children


class Command(BaseCommand):
    help = "Fill an empty database with an invented salon of any size, to measure pages."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--clients", type=int, default=20_000)
        parser.add_argument("--visits", type=int, default=100_000)
        parser.add_argument("--stylists", type=int, help="by default enough for five years")
        parser.add_argument(
            "--whole",
            type=int,
            default=20_000,
            help="the latest visits, which keep every row; the others keep what is counted",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if not settings.LOCAL:
            raise CommandError("The demo has public passwords: it needs SALON_MODE=local.")
        if Salon.objects.exists():
            raise CommandError("There is a salon already: this needs an empty database.")
        if min(options["clients"], options["visits"]) < 1:
            raise CommandError("It needs a client and a visit at least.")
        size = crowd.Size(
            options["clients"],
            options["visits"],
            options["stylists"] or max(3, round(options["visits"] / _A_STYLIST)),
            options["whole"],
        )
        years = size.span.days / 365
        if years > _MOST_YEARS:
            raise CommandError(
                f"So many visits take these stylists {years:.0f} years; at most {_MOST_YEARS}."
            )
        began = time.monotonic()
        salon = crowd.fill(size, now=timezone.now())
        seconds = time.monotonic() - began
        self.stdout.write(
            f"{salon}: {size.visits} visits of {size.clients} clients in {seconds:.0f} s."
        )
