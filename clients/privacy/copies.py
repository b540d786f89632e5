"""What an erasure, a retention run and a withdrawal do to copies of a client's record.

Asking for a copy and receiving one is in `consult.services.record_moves`.
"""

import datetime as dt
from collections.abc import Iterable

from clients.models import MoveState, ReceivedRecord, RecordMove
from clients.photos import received
from salon import audit
from salon.models import Salon, Staff


def end_moves(*, client_ids: Iterable[int], at: dt.datetime) -> None:
    """End what waits of somebody who is erased here, and delete the copies that came here.

    What another salon has already stays there: nothing is erased across salons.
    """
    waiting = RecordMove.objects.filter(client__in=client_ids, state=MoveState.WAITING)
    for move in waiting.select_related("salon", "to_salon").select_for_update(of=("self",)):
        move.state, move.settled_at = MoveState.ENDED, at
        move.save(update_fields=["state", "settled_at"])
        record_in_both("record move ended", move, by=None, at=at)
    copies = ReceivedRecord.objects.filter(client__in=client_ids, deleted_at__isnull=True)
    for record in copies.select_related("salon"):
        drop_copy(record, by=None, at=at)


def drop_copy(record: ReceivedRecord, *, by: Staff | None, at: dt.datetime) -> bool:
    """Delete what a copy holds; return whether there still was something.

    The salon that gave it has it on record too.
    """
    taken = ReceivedRecord.objects.filter(pk=record.pk, deleted_at__isnull=True).update(
        deleted_at=at, content="", photos=[]
    )
    if not taken:
        return False
    received.remove_later(record.salon_id, record.photos)
    audit.record_event("received record deleted", target=record, by=by, at=at)
    move = RecordMove.objects.filter(received=record).select_related("salon").first()
    if move is not None:
        audit.record_event(
            "copy deleted there", target=move, by=None, at=at, to_salon=move.to_salon_id
        )
    return True


def drop_received_photos(
    records: Iterable[ReceivedRecord],
    *,
    by: Staff | None,
    at: dt.datetime,
    before: dt.datetime | None = None,
) -> int:
    """Delete photos that came with copies, all or those from before a moment; count them."""
    count = 0
    for record in records:
        dropped = received.taken_before(record, before)
        if not dropped:
            continue
        kept = [one for one in record.photos if one not in dropped]
        ReceivedRecord.objects.filter(pk=record.pk).update(photos=kept)
        received.remove_later(record.salon_id, dropped)
        audit.record_event(
            "received photos deleted", target=record, by=by, at=at, count=len(dropped)
        )
        count += len(dropped)
    return count


def record_in_both(
    kind: str, move: RecordMove, *, by: Staff | None, at: dt.datetime, **detail: int
) -> None:
    """Record an act in both salons of a move, under whoever did it in their own; ids only."""
    for salon, other in ((move.salon, move.to_salon), (move.to_salon, move.salon)):
        _record(kind, move, salon, by, at, other_salon=other.pk, **detail)


def _record(
    kind: str, move: RecordMove, salon: Salon, by: Staff | None, at: dt.datetime, **detail: int
) -> None:
    actor = by if by is not None and by.salon_id == salon.pk else None
    audit.record_event(kind, target=move, by=actor, at=at, salon=salon, **detail)
