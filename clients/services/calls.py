"""Writes of calls to clients: what came of each is kept."""

import datetime as dt

from django.db import transaction

from clients.models import Appointment, Client, ClientCall
from clients.policies import check_can_work_at_desk
from salon import audit
from salon.models import Staff


@transaction.atomic
def record_call(
    *,
    client: Client,
    reason: str,
    outcome: str,
    by: Staff,
    at: dt.datetime,
    appointment: Appointment | None = None,
    key: str = "",
) -> ClientCall:
    """Record one call and what came of it; a later call is a row of its own."""
    check_can_work_at_desk(client, appointment, by=by)
    call = ClientCall(
        salon=by.salon,
        client=client,
        appointment=appointment,
        key=key,
        reason=reason,
        outcome=outcome,
        recorded_at=at,
        recorded_by=by,
    )
    call.full_clean()
    call.save()
    audit.record_event("call recorded", target=call, by=by, at=at, outcome=outcome)
    return call
