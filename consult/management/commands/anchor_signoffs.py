"""`manage.py anchor_signoffs`: note each salon's newest sign-off outside of the database."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from consult import services
from consult.agreement import anchor_mail, anchors, evidence
from consult.models import Anchor
from salon.mailing import letters
from salon.models import Salon
from salon.work.each_salon import for_each_salon, say_failures


class Command(BaseCommand):
    """Exit status 1 where an anchor did not arrive at a place that is set, or at none."""

    help = "Anchor the sign-offs of every salon: folder, owners' mail, time stamp."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--closed-days",
            action="store_true",
            help="only where a day is over whose sign-offs are not anchored yet (for a timer)",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        self.failed: list[str] = []
        failed = for_each_salon(lambda salon: self._anchor(salon, options["closed_days"]))
        say_failures([*self.failed, *failed])

    def _anchor(self, salon: Salon, closed_days: bool) -> None:
        now = timezone.now()
        if closed_days and not evidence.is_due(salon, at=now):
            return
        anchor = services.anchor_sign_offs(salon=salon, by=None, at=now)
        if anchor is None:
            self.stdout.write(f"{salon}: nothing is signed yet.")
            return
        mark = anchors.fingerprint(anchor.digest)
        self.stdout.write(f"{salon}: sign-off {anchor.position}, {mark}")
        self.failed += [f"{salon}: {place}: {why}" for place, why in anchor.faults.items()]
        self._send(anchor)
        (line,) = anchor_mail.lines([anchor])
        self.failed += [f"{salon}: mail: {row.reason_text}" for row in line.not_sent]
        self.failed += [
            f"{salon}: mail: {row.reason_text}; the worker tries again" for row in line.waiting
        ]
        if not line.is_outside and not line.waiting:
            self.failed.append(
                f"{salon}: the anchor is nowhere outside. Set ANCHOR_DIR or TIMESTAMP_URL,"
                " or give an owner an e-mail address."
            )

    def _send(self, anchor: Anchor) -> None:
        """Send the mails at once: a timer may run where no worker does."""
        (line,) = anchor_mail.lines([anchor])
        for letter in line.waiting:
            letters.send_now(letter)
