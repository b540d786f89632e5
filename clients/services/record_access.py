"""Noting who looked at a client's records."""

import datetime as dt

from clients.models import Client, RecordAccess
from clients.policies import check_can_look
from salon.models import Staff


def note_access(
    *, kind: str, target: str, target_id: str, client: Client | None, by: Staff, at: dt.datetime
) -> RecordAccess:
    """Note that somebody looked at a record of a client, or at the list of all."""
    check_can_look(client, by=by)
    return RecordAccess.objects.create(
        salon=by.salon,
        staff=by,
        client=client,
        kind=kind,
        target=target,
        target_id=target_id,
        at=at,
    )
