"""`manage.py found_salon`: the first step of a real installation."""

import getpass
import sys
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from salon import services
from salon.models import Salon, Staff


class Command(BaseCommand):
    """Create a salon and its first owner; the password is asked for, or read from a pipe."""

    help = "Create a salon with its first owner."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--name", required=True, help="the salon's name")
        parser.add_argument("--time-zone", required=True, help="for example Europe/Dublin")
        parser.add_argument(
            "--language",
            default=settings.LANGUAGE_CODE,
            help="of cards, slips and reminders, for example de",
        )
        parser.add_argument(
            "--currency", default="EUR", help="of the prices of tubes, for example GBP"
        )
        parser.add_argument("--owner", required=True, help="the owner's user name")
        parser.add_argument("--owner-name", required=True, help="the owner's name as shown")

    def handle(self, *args: Any, **options: Any) -> None:
        is_interactive = sys.stdin.isatty()
        password = (
            getpass.getpass("Password: ") if is_interactive else sys.stdin.readline().strip()
        )
        try:
            validate_password(
                password,
                Staff(
                    username=options["owner"],
                    display_name=options["owner_name"],
                    salon=Salon(pk=0, name=options["name"]),
                ),
            )
            salon, owner = services.found_salon(
                at=timezone.now(),
                owner_username=options["owner"],
                owner_name=options["owner_name"],
                password=password,
                name=options["name"],
                time_zone=options["time_zone"],
                language=options["language"],
                currency=options["currency"].upper(),
            )
        except ValidationError as error:
            raise CommandError("; ".join(error.messages)) from error
        self.stdout.write(f"{salon} is founded. {owner} signs in as {owner.username}.")
