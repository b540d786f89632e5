"""What goes with time: a run of the salon's rules on how long records are kept."""

import datetime as dt
from collections import Counter
from collections.abc import Mapping
from functools import partial

from django.db import transaction

from clients.models import ErasureReason, RemovalReason, RetentionRun
from clients.privacy import erasure_list
from clients.privacy.copies import drop_received_photos
from clients.selectors import privacy as selectors
from clients.services.photos import remove_all_photos
from clients.services.privacy import end_keeping, erase
from salon import audit
from salon.models import Salon, WorkRun
from salon.work import runs

RETENTION = "retention"
# An erasure changes rows of many tables: so many people keep other writes waiting a second.
PIECE = 20
# Beside the counts of a run: the number of the client that it has come to.
REACHED, EVERYBODY = "reached", 2**63 - 1


def run_retention(*, salon: Salon, at: dt.datetime) -> RetentionRun:
    """Erase what is past its time, piece by piece, at once; report the numbers.

    One that is open already is gone on with. A request stays where something was booked
    since: `busy` says how many.
    """
    run = runs.opened(kind=RETENTION, salon=salon, at=at, count=partial(_count, salon, at))
    try:
        while retain_piece(pk=run.pk, at=at):
            pass
    except Exception:
        runs.fail(run.pk)
        raise
    return RetentionRun.objects.filter(salon=salon)[0]


def retain_piece(*, pk: int, at: dt.datetime) -> bool:
    """Do the next piece of a run of the rules; return whether there is more to do.

    Each piece is kept for itself: a fault or a killed worker undoes the one it was at.
    """
    with runs.held(pk) as run:
        if run is None:
            return False
        salon, counts = run.salon, Counter(run.outcome)
        reached = counts.pop(REACHED, 0)
        people = selectors.past_people(salon=salon, at=at, beyond=reached, most=PIECE)
        for client in people:
            erase(client=client, reason=ErasureReason.RETENTION, at=at)
        counts["people"] += len(people)
        photos = [] if people else selectors.old_photos(salon=salon, at=at, most=PIECE)
        remove_all_photos(photos, RemovalReason.OLD, None, at)
        counts["photos"] += len(photos)
        is_last = not people and len(photos) < PIECE
        if is_last:
            counts.update(_settle(salon, at))
            _report(run, counts, at)
        else:
            reached = people[-1].pk if people else EVERYBODY
            run.outcome, run.rows_done = {**counts, REACHED: reached}, counts.total()
            run.save(update_fields=["outcome", "rows_done"])
        return not is_last


def _settle(salon: Salon, at: dt.datetime) -> dict[str, int]:
    """Do what is asked for by few, and what the database does at once; return the numbers."""
    due, busy = selectors.overdue(salon=salon, at=at, named=0), 0
    for row in due.requested:
        if selectors.rights_of(client=row.client, at=at).is_busy:
            busy += 1
            continue
        erase(client=row.client, reason=row.reason, at=at)
    for kept in due.kept:
        end_keeping(client=kept.client, reason=kept.reason, at=at)
    copied = drop_received_photos(due.copies, by=None, at=at, before=due.photos_until)
    before = selectors.messages_before(salon=salon, at=at)
    selectors.old_messages(salon=salon, before=before).delete()
    selectors.old_imports(salon=salon, before=before).update(refused=[], rows=[], content=b"")
    return {
        "requested": len(due.requested) - busy, "kept": len(due.kept), "busy": busy,
        "messages": due.messages, "imports": due.imports, "photos": copied,
    }  # fmt: skip


def _report(run: WorkRun, counts: Mapping[str, int], at: dt.datetime) -> None:
    found = RetentionRun.objects.create(salon=run.salon, ran_at=at, counts=dict(counts))
    audit.record_event("retention run", target=found, by=None, at=at, **found.counts)
    runs.end(run, outcome=dict(counts))


def _count(salon: Salon, at: dt.datetime) -> int:
    return sum(selectors.overdue(salon=salon, at=at).counts().values())


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
