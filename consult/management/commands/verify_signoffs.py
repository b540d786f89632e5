"""`manage.py verify_signoffs`: walk each salon's chain and name the first broken link."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from consult.agreement import evidence, verification
from consult.agreement.evidence import AnchorFiles
from consult.models import SignOff
from salon.models import Salon
from salon.numbers import row_number


class Command(BaseCommand):
    """Exit status 1 and the first broken link where one does not hold."""

    help = "Verify the chain of sign-offs of every salon, also against anchors."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--anchor",
            type=Path,
            action="append",
            default=[],
            metavar="FILE",
            help="an anchor that was kept elsewhere, or a folder of them; may be repeated",
        )
        parser.add_argument(
            "--printed",
            nargs=3,
            metavar=("SALON", "POSITION", "FINGERPRINT"),
            help="what a sheet says: the salon's number, position and fingerprint in quotes",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["printed"]:
            self._compare_printed(*options["printed"])
            return
        read = evidence.read_files(options["anchor"])
        broken = list(read.faults)
        for salon in Salon.objects.order_by("pk"):
            faults = [verification.fault_in(salon), self._difference(salon, read)]
            first = min((f for f in faults if f), key=lambda f: f.number, default=None)
            if first:
                broken.append(f"{salon}: sign-off {first.number}: {first.reason}")
                continue
            count = SignOff.objects.filter(salon=salon).count()
            self.stdout.write(f"{salon}: {count} sign-offs, all links hold.")
            for anchor in read.by_salon.get(salon.pk, []):
                self.stdout.write(f"  as anchored up to {anchor.position}, {anchor.made_at}")
        known = set(Salon.objects.values_list("pk", flat=True))
        broken += [
            f"Anchors of a salon that is missing: {pk}" for pk in {*read.by_salon} - known
        ]
        for stamp in read.stamps:
            self.stdout.write(f"time stamp holds: {stamp}")
        if broken:
            raise CommandError("\n".join(broken))

    def _difference(self, salon: Salon, read: AnchorFiles) -> verification.BrokenLink | None:
        mine = read.by_salon.get(salon.pk, [])
        return evidence.difference(salon, mine) if mine else None

    def _compare_printed(self, salon: str, position: str, fingerprint: str) -> None:
        found = Salon.objects.filter(pk=row_number(salon) or 0).first()
        number = row_number(position)
        if found is None or number is None:
            raise CommandError("Give the salon's number, the position and the fingerprint.")
        fault = evidence.printed_difference(found, number, fingerprint)
        if fault:
            raise CommandError(f"{found}: sign-off {fault.number}: {fault.reason}")
        self.stdout.write(f"{found}: sign-off {position} is the one that was printed.")
