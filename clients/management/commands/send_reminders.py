"""Queue and send what is due, for every salon; a timer calls this every few minutes."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from clients.messages.channels import channel
from clients.selectors.desk import is_quiet
from clients.services import queue_reminders, send_reminders
from salon import mail
from salon.models import Salon
from salon.work.each_salon import for_each_salon, say_failures


class Command(BaseCommand):
    help = "Queue and send reminders. Safe to call as often as wished, also twice at once."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--queue-only", action="store_true", help="send nothing")

    def handle(self, *args: Any, **options: Any) -> None:
        if mail.has_no_server() and not options["queue_only"]:
            raise CommandError("No mail server is set (EMAIL_URL): nothing is sent.")
        is_sending = not options["queue_only"]
        say_failures(for_each_salon(lambda salon: self._remind(salon, is_sending)))

    def _remind(self, salon: Salon, is_sending: bool) -> None:
        now = timezone.now()
        queued = queue_reminders(salon=salon, at=now)
        self.stdout.write(f"{salon}: {queued} queued")
        if not is_sending:
            return
        if is_quiet(salon=salon, at=now):
            self.stdout.write("quiet hours: nothing is sent")
            return
        outcomes = send_reminders(salon=salon, at=now, channel=channel())
        for outcome, count in sorted(outcomes.items()):
            self.stdout.write(f"{outcome}: {count}")
