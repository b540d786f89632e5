"""`manage.py worker`: do what is queued, and what is due by the clock."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from salon.work.worker import Worker


class Command(BaseCommand):
    """Several may run, on several machines: each task and each job is taken by one.

    SIGTERM lets it end what it has in hand. Killed, its tasks are taken up by another worker,
    or by itself once it runs again, when its lease is over.
    """

    help = "Run queued work and the timetable (reminders, anchors, retention, backups)."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--lease", type=float, default=60, help="seconds after which a silent one is dead"
        )
        parser.add_argument(
            "--interval", type=float, default=1, help="seconds between two looks at the queue"
        )
        parser.add_argument("--no-timetable", action="store_true", help="only the queue")
        parser.add_argument(
            "--parent", type=int, help="stop when the process of this number is gone"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        Worker(
            lease_seconds=options["lease"],
            interval=options["interval"],
            with_timetable=not options["no_timetable"],
            parent=options["parent"],
        ).run()
