"""`manage.py doctor`: read the whole installation, say what is missing or odd."""

import json
import sys
from argparse import ArgumentParser
from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from django.core.management.base import BaseCommand

from salon.doctor import Examination, Finding, Weight, database, machine, setup

WITHOUT_DATABASE: tuple[Examination, ...] = (
    machine.python,
    setup.addresses,
    setup.proxy,
    machine.disk,
    machine.media_folder,
    machine.static_files,
    machine.backups,
    machine.anchor_folder,
)
WITH_DATABASE: tuple[Examination, ...] = (
    database.version,
    database.clock,
    database.account,
    database.replica,
    setup.checks,
    setup.keys,
    setup.salons,
    setup.worker,
)
_MARKS = {Weight.FINE: "ok   ", Weight.ODD: "odd  ", Weight.WRONG: "WRONG"}


class Command(BaseCommand):
    """Changes nothing but a small file that it writes where photos go, and deletes."""

    help = "Say in words what this installation lacks, each with what to do."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--json", action="store_true", help="for a watcher to read")

    def handle(self, *args: Any, **options: Any) -> None:
        found = list(examine())
        wrong = sum(finding.weight is Weight.WRONG for finding in found)
        odd = sum(finding.weight is Weight.ODD for finding in found)
        if options["json"]:
            self.stdout.write(json.dumps([asdict(finding) for finding in found], indent=1))
        else:
            for finding in sorted(
                found, key=lambda finding: list(_MARKS).index(finding.weight)
            ):
                self.stdout.write(
                    f"{_MARKS[finding.weight]} {finding.subject}: {finding.sentence}"
                )
                if finding.remedy:
                    self.stdout.write(f"      {finding.remedy}")
            self.stdout.write(f"{wrong} wrong, {odd} odd, {len(found) - wrong - odd} fine.")
        if wrong:
            sys.exit(1)


def examine() -> Iterator[Finding]:
    """Yield every finding; what needs the database only where it can be used."""
    for look in WITHOUT_DATABASE:
        yield from look()
    faults = list(database.reachable())
    yield from faults
    if not faults:
        for look in WITH_DATABASE:
            yield from look()
