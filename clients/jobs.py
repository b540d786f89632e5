"""What the front desk does by the clock."""

import datetime as dt

from django.utils.translation import gettext_lazy as _

from salon import mail
from salon.work import lanes
from salon.work.timetable import Job, run_command


def _send_reminders() -> None:
    """Queue reminders; send them where there is a mail server."""
    run_command("send_reminders", queue_only=mail.has_no_server())


def _retain() -> None:
    run_command("retain")


def _compare_entries() -> None:
    """Find what two who wrote at the same moment did not see of each other."""
    run_command("check_duplicates", rebuild=True)


JOBS = (
    Job("send_reminders", _("Send reminders"), _send_reminders, every=dt.timedelta(minutes=5)),
    Job(
        "retain",
        _("Erase expired records, close yearly holidays"),
        _retain,
        at=dt.time(2, 40),
        lane=lanes.LONG,
    ),
    Job(
        "check_duplicates",
        _("Compare clients who may be one person"),
        _compare_entries,
        at=dt.time(3, 10),
        lane=lanes.LONG,
    ),
)
