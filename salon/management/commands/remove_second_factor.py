"""`manage.py remove_second_factor NAME`: let somebody in by password alone again."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from salon.models import Staff
from salon.second_factor.services import remove_second_factor_by_command


class Command(BaseCommand):
    """The way back for a salon's only owner, whose app and recovery codes are lost."""

    help = "Remove somebody's second factor, by their user name."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("username")

    def handle(self, *args: Any, **options: Any) -> None:
        member = Staff.objects.filter(username=options["username"]).first()
        if member is None:
            raise CommandError(f"Nobody signs in as {options['username']}.")
        if not remove_second_factor_by_command(member=member, at=timezone.now()):
            raise CommandError(f"{member.username} has no second factor.")
        self.stdout.write(f"{member.username} signs in with the password alone now.")
