"""`manage.py demo`: fill the invented salon once, and say how to sign in."""

import datetime as dt
import time
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from consult.demo import cast
from consult.demo.fill import fill
from salon.models import Salon


class Command(BaseCommand):
    """Safe to run again: a salon that exists already is left as it is."""

    help = "Fill the invented demo salon and print its logins."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--address", default="http://localhost:8000/")
        parser.add_argument("--seed", type=int, default=7)
        parser.add_argument("--reference", help="the moment to fill as of, ISO 8601")

    def handle(self, *args: Any, **options: Any) -> None:
        if not settings.LOCAL:
            raise CommandError("The demo has public passwords: it needs SALON_MODE=local.")
        if Salon.objects.filter(name=cast.SALON["name"]).exists():
            self.stdout.write("The demo salon is there already.")
        else:
            began = time.monotonic()
            self.stdout.write("Filling the demo salon …")
            self.stdout.flush()
            fill(now=self._reference(options["reference"]), seed=options["seed"])
            self.stdout.write(f"Filled in {time.monotonic() - began:.0f} s.")
        self.stdout.write(f"\n  {options['address']}\n")
        for name, role in (
            ("imke", "receptionist"),
            ("tomasz", "stylist"),
            ("brigid", "owner"),
        ):
            self.stdout.write(f"  {role:<13} {name:<8} {cast.PASSWORD}  PIN {cast.PINS[name]}")
        self.stdout.write("  PINs work on a tablet that the owner enrols (Salon, Tablets).")
        if settings.SIGNING_KEY_FILE and not settings.SIGNING_KEY:
            self.stdout.write(f"  Sign-offs are signed by {settings.SIGNING_KEY_FILE}.")
        self.stdout.write("")
        self.stdout.flush()

    def _reference(self, text: str | None) -> dt.datetime:
        if text is None:
            return timezone.now()
        moment = parse_datetime(text)
        if moment is None or moment.tzinfo is None:
            raise CommandError("--reference needs ISO 8601 with an offset.")
        return moment
