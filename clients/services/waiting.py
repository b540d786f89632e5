"""Writes of the waiting list."""

import datetime as dt
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from clients.models import Appointment, Waiting, WaitingEntry
from clients.policies import check_can_work_at_desk
from salon import audit
from salon.models import Staff
from salon.policies import records_in
from salon.refusals import Refused


class NotWaiting(Refused):
    """Raised when an entry of the list has been closed since."""


@transaction.atomic
def add_waiting(*, by: Staff, at: dt.datetime, **fields: Any) -> WaitingEntry:
    """Put a client on the waiting list."""
    check_can_work_at_desk(*records_in(fields), by=by)
    entry = WaitingEntry(salon=by.salon, added_by=by, added_at=at, **fields)
    entry.full_clean()
    entry.save()
    audit.record_event("waiting added", target=entry, by=by, at=at)
    return entry


@transaction.atomic
def close_waiting(
    *,
    entry: WaitingEntry,
    by: Staff,
    at: dt.datetime,
    appointment: Appointment | None = None,
) -> WaitingEntry:
    """Take a client off the list: booked, or withdrawn where no appointment is given."""
    check_can_work_at_desk(entry, appointment, by=by)
    status = Waiting.BOOKED if appointment else Waiting.WITHDRAWN
    taken = WaitingEntry.objects.filter(pk=entry.pk, status=Waiting.OPEN).update(
        status=status, appointment=appointment
    )
    if not taken:
        raise NotWaiting(_("This request is no longer on the waiting list."))
    entry.refresh_from_db()
    audit.record_event(f"waiting {status}", target=entry, by=by, at=at)
    return entry
