"""Reads of who looked at whose records."""

import datetime as dt
from typing import Any

from django.db.models import QuerySet

from clients.diary.opening import day_bounds
from clients.models import SAME_LOOK, Client, RecordAccess
from salon.models import Salon, Staff


def looked_just_now(
    *, by: Staff, kind: str, target: str, target_id: str, at: dt.datetime
) -> bool:
    """Return whether somebody's look at this record was noted some minutes ago."""
    return RecordAccess.objects.filter(
        staff=by, kind=kind, target=target, target_id=target_id, at__gt=at - SAME_LOOK
    ).exists()


def client_of(lookup: str, key: Any) -> Client | None:
    """Return the client that a lookup through the client's records leads to, or None."""
    return Client.objects.filter(**{lookup: key}).first()


def accesses(
    *,
    salon: Salon,
    staff: Staff | None = None,
    client: str = "",
    kind: str = "",
    first: dt.date | None = None,
    last: dt.date | None = None,
) -> QuerySet[RecordAccess]:
    """Return who looked at what, latest first; `client` is part of a name, days inclusive."""
    rows = RecordAccess.objects.filter(salon=salon).select_related("staff", "client")
    if staff:
        rows = rows.filter(staff=staff)
    if kind:
        rows = rows.filter(kind=kind)
    if client:
        rows = rows.filter(client__name__icontains=client)
    if first:
        rows = rows.filter(at__gte=day_bounds(salon=salon, day=first)[0])
    if last:
        rows = rows.filter(at__lt=day_bounds(salon=salon, day=last)[1])
    return rows
