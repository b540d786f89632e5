"""`manage.py verify_signoffs`: walk each salon's chain and name the first broken link."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from consult.agreement import signing
from consult.models import SignOff
from consult.services.agreement import recorded_digests
from salon.models import Salon


class Command(BaseCommand):
    """Exit status 1 and the first broken link where one does not hold."""

    help = "Verify the chain of sign-offs of every salon."

    def handle(self, *args: Any, **options: Any) -> None:
        broken = []
        for salon in Salon.objects.order_by("pk"):
            links = SignOff.objects.filter(salon=salon).order_by("number")
            fault = signing.first_broken_link(
                links.iterator(chunk_size=200), recorded=recorded_digests(salon)
            )
            if fault:
                broken.append(f"{salon}: sign-off {fault.number}: {fault.reason}")
            else:
                self.stdout.write(f"{salon}: {links.count()} sign-offs, all links hold.")
        if broken:
            raise CommandError("\n".join(broken))
