"""`manage.py verify_signoffs`: walk each salon's chain and name the first broken link."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from consult.agreement import verification
from consult.models import SignOff
from salon.models import Salon


class Command(BaseCommand):
    """Exit status 1 and the first broken link where one does not hold."""

    help = "Verify the chain of sign-offs of every salon."

    def handle(self, *args: Any, **options: Any) -> None:
        broken = []
        for salon in Salon.objects.order_by("pk"):
            fault = verification.fault_in(salon)
            if fault:
                broken.append(f"{salon}: sign-off {fault.number}: {fault.reason}")
            else:
                count = SignOff.objects.filter(salon=salon).count()
                self.stdout.write(f"{salon}: {count} sign-offs, all links hold.")
        if broken:
            raise CommandError("\n".join(broken))
