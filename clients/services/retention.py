"""What goes with time: a run of the salon's rules on how long records are kept."""

import datetime as dt

from django.db import transaction

from clients.models import ErasureReason, RemovalReason, RetentionRun
from clients.privacy import erasure_list
from clients.selectors import privacy as selectors
from clients.services.photos import remove_all_photos
from clients.services.privacy import end_keeping, erase
from salon import audit
from salon.models import Salon


@transaction.atomic
def run_retention(*, salon: Salon, at: dt.datetime) -> RetentionRun:
    """Erase what is past its time, and do the erasures whose wait is over; report the numbers.

    A request stays where something was booked since: `busy` says how many.
    """
    due = selectors.overdue(salon=salon, at=at)
    counts = due.counts()
    for client in due.people:
        erase(client=client, reason=ErasureReason.RETENTION, at=at)
    busy = 0
    for row in due.requested:
        if selectors.rights_of(client=row.client, at=at).is_busy:
            busy += 1
            continue
        erase(client=row.client, reason=row.reason, at=at)
    counts["requested"] -= busy
    for kept in due.kept:
        end_keeping(client=kept.client, reason=kept.reason, at=at)
    remove_all_photos(due.photos, RemovalReason.OLD, None, at)
    before = selectors.messages_before(salon=salon, at=at)
    selectors.old_messages(salon=salon, before=before).delete()
    selectors.old_imports(salon=salon, before=before).update(refused=[], rows=[], content=b"")
    run = RetentionRun.objects.create(salon=salon, ran_at=at, counts={**counts, "busy": busy})
    audit.record_event("retention run", target=run, by=None, at=at, **run.counts)
    transaction.on_commit(erasure_list.complete)
    return run


@transaction.atomic
def replay_erasures(*, at: dt.datetime) -> int:
    """Erase again whom an older backup brought back; return how many entries."""
    found = erasure_list.forgotten()
    done = set()
    for client, line in found:
        client.refresh_from_db()
        if client.pk in done:
            continue
        until = dt.date.fromisoformat(line.kept_until) if line.kept_until else None
        erase(client=client, reason=ErasureReason.IN_WRITING, at=at, until=until)
        done.add(client.pk)
    return len(found)
