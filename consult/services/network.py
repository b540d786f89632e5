"""What is typed and not saved yet, and who is on a visit.

Neither is a record, so neither moves the visit's version nor leaves an audit event: a keystroke
is no change of the visit.
"""

import datetime as dt
from collections.abc import Sequence

from django.db import transaction

from consult import policies
from consult.models import Draft, Presence, Visit
from salon.models import Staff

KEPT_FOR = dt.timedelta(hours=24)
HERE_FOR = dt.timedelta(seconds=40)

Fields = Sequence[tuple[str, str]]


@transaction.atomic
def keep_draft(
    *,
    visit: Visit,
    step: str,
    part: str,
    fields: Fields,
    base_version: int,
    by: Staff,
    at: dt.datetime,
) -> Draft:
    """Keep what someone typed into a form; what was kept of it before is replaced.

    A draft of an old version is kept too: the words must not be lost because
    somebody else was quicker. The caller says so to whoever types.
    """
    policies.check_can_work_on(by=by, visit=visit)
    Draft.objects.filter(updated_at__lt=at - KEPT_FOR).delete()
    draft, _new = Draft.objects.update_or_create(
        visit=visit,
        step=step,
        part=part,
        staff=by,
        defaults={
            "fields": [list(pair) for pair in fields],
            "base_version": base_version,
            "updated_at": at,
        },
    )
    return draft


@transaction.atomic
def drop_draft(*, visit: Visit, step: str, part: str, by: Staff) -> None:
    """Forget what someone typed into a form: it is saved, or not wanted."""
    policies.check_can_see(by=by, visit=visit)
    Draft.objects.filter(visit=visit, step=step, part=part, staff=by).delete()


@transaction.atomic
def note_presence(
    *, visit: Visit, seat: str, step: str, by: Staff, at: dt.datetime
) -> Presence:
    """Note that someone has a page of the visit open; after a long silence it begins again."""
    policies.check_can_see(by=by, visit=visit)
    Presence.objects.filter(visit=visit, seen_at__lt=at - HERE_FOR).delete()
    presence, _new = Presence.objects.update_or_create(
        visit=visit,
        staff=by,
        seat=seat,
        defaults={"step": step, "seen_at": at},
        create_defaults={"step": step, "seen_at": at, "since": at},
    )
    return presence
