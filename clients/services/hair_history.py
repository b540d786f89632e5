"""Writes of the hair's own history: reported by the client, or observed."""

import datetime as dt

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from clients.models import Client, HairHistoryEntry
from clients.policies import check_can_work_at_desk
from salon import audit
from salon.models import Staff


@transaction.atomic
def add_hair_history(
    *,
    client: Client,
    work: str,
    origin: str,
    happened_date: dt.date,
    by: Staff,
    at: dt.datetime,
    note: str = "",
) -> HairHistoryEntry:
    """Record something that was done to the hair."""
    check_can_work_at_desk(client, by=by)
    today = at.astimezone(client.salon.zone).date()
    if happened_date > today:
        raise ValidationError({"happened_date": _("This is in the future. Check the date.")})
    entry = HairHistoryEntry(
        client=client,
        work=work,
        origin=origin,
        happened_date=happened_date,
        note=note.strip(),
        recorded_at=at,
        recorded_date=today,
        recorded_by=by,
    )
    entry.full_clean()
    entry.save()
    audit.record_event("hair history added", target=entry, by=by, at=at)
    return entry


@transaction.atomic
def withdraw_hair_history(
    *, entry: HairHistoryEntry, note: str, by: Staff, at: dt.datetime
) -> HairHistoryEntry:
    """Withdraw an entry that was wrong, by a further row that says why."""
    check_can_work_at_desk(entry.client, by=by)
    row = HairHistoryEntry(
        client=entry.client,
        work=entry.work,
        origin=entry.origin,
        happened_date=entry.happened_date,
        note=note.strip(),
        withdraws=entry,
        recorded_at=at,
        recorded_date=at.astimezone(entry.client.salon.zone).date(),
        recorded_by=by,
    )
    row.full_clean()
    row.save()
    audit.record_event("hair history withdrawn", target=entry, by=by, at=at)
    return row
