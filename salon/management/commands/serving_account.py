"""`manage.py serving_account NAME`: the account that serves, without the right to alter."""

import os
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import connection, transaction

from salon import serving_account


class Command(BaseCommand):
    """Run as the account that owns the database, after each migration."""

    help = "Create the PostgreSQL account that serves, or set its rights again."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name", help="of the account, for example salon_web")

    def handle(self, *args: Any, name: str, **options: Any) -> None:
        password = os.environ.get("SERVING_PASSWORD", "")
        if not password:
            raise CommandError("Set SERVING_PASSWORD to the password of the account.")
        try:
            with transaction.atomic():
                serving_account.grant(connection, name=name, password=password)
        except serving_account.AccountRefused as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"{name} may serve; it can neither alter nor empty a table.")
