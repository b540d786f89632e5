"""What the consultation does by the clock."""

import datetime as dt

from django.utils.translation import gettext_lazy as _

from salon.work.timetable import Job, run_command


def _anchor() -> None:
    run_command("anchor_signoffs", closed_days=True)


JOBS = (
    Job("anchor", _("Anchor sign-offs of closed days"), _anchor, every=dt.timedelta(hours=1)),
)
