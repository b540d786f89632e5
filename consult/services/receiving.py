"""A salon receives the record of a client who moves to it, declines it, or deletes the copy."""

import datetime as dt

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils.translation import gettext as _

from clients.models import Client, MoveState, ReceivedRecord, RecordMove
from clients.people import person
from clients.people.health_consent import is_withdrawn
from clients.photos import received as photos
from clients.policies import check_can_work_at_desk
from clients.privacy.copies import drop_copy, record_in_both
from clients.services import register_client
from clients.services.health_consent import check_health_consent
from clients.vouching import NeedsSecondPerson, is_second
from consult.portability import received_warnings as warnings
from consult.portability.copies import copy_of
from consult.portability.moves import (
    MoveRefused,
    check_linked,
    copyable_photos,
    entries_held,
    held,
    person_of,
)
from salon import audit
from salon.access import FRONT
from salon.models import Staff
from salon.policies import is_owner, require_owner

# What of the person's entry a new one in the other salon begins with.
_PERSON = ("name", "known_as", "phone", "email", "birth_date", "language")


@transaction.atomic
def refuse_move(*, move: RecordMove, by: Staff, at: dt.datetime) -> RecordMove:
    """Record that the other salon does not take the record."""
    _check_receiver(move, by)
    move = held(move)
    _check_waits(move)
    move.state, move.settled_at = MoveState.REFUSED, at
    move.save()
    record_in_both("record move refused", move, by=by, at=at)
    return move


@transaction.atomic
def receive_record(
    *, move: RecordMove, by: Staff, at: dt.datetime, client: Client | None = None
) -> ReceivedRecord:
    """Take a copy over: for a client who is known here, or for a new one.

    What warns comes as this salon's own; what clears, such as a patch test, never does.
    """
    _check_receiver(move, by)
    if client is not None:
        check_can_work_at_desk(client, by=by)
    ids, _ours = entries_held(move.client, client)
    move = held(move)
    _check_waits(move)
    giver = person_of(ids)
    _check_may_be_given(move, giver, ids)
    if client is None:
        fields = {name: getattr(giver, name) for name in _PERSON}
        whose = register_client(by=by, at=at, **fields)
    else:
        whose = _joined(client, giver, by)
    return _received(move, giver, whose, by, at)


@transaction.atomic
def delete_received_record(*, record: ReceivedRecord, by: Staff, at: dt.datetime) -> None:
    """Delete the copy of another salon's record; what it warned of stays."""
    require_owner(record, by=by)
    if not drop_copy(record, by=by, at=at):
        raise MoveRefused(_("This copy is deleted already."), code="deleted")


@transaction.atomic
def put_back_record(
    *, record: ReceivedRecord, by: Staff, at: dt.datetime, witness: Staff | None = None
) -> None:
    """Take a copy away from a client whom it was joined with by mistake, warnings and all.

    It waits again for the right one, so that no reaction is lost. One person alone cannot do
    it, an owner neither: it would open a gate.
    """
    check_can_work_at_desk(record, by=by)
    check_can_work_at_desk(record.client, by=by)
    if not is_second(witness, by=by):
        raise NeedsSecondPerson(
            _("You cannot do this alone. Choose a colleague, who enters their PIN."),
            code="alone",
        )
    move = RecordMove.objects.select_for_update().filter(received=record).first()
    if move is None or move.withdrawn_at or not drop_copy(record, by=by, at=at):
        raise MoveRefused(_("This copy cannot be put back any more."), code="settled")
    warnings.withdraw(record, by=by, at=at)
    waits_again = RecordMove.objects.filter(
        client__in=move.entries, to_salon=move.to_salon_id, state=MoveState.WAITING
    ).exists()
    RecordMove.objects.filter(pk=move.pk).update(
        state=MoveState.REFUSED if waits_again else MoveState.WAITING,
        settled_at=at if waits_again else None,
        received=None,
    )
    record_in_both("record put back", move, by=by, at=at)


def _received(
    move: RecordMove, giver: Client, whose: Client, by: Staff, at: dt.datetime
) -> ReceivedRecord:
    """Write the copy, once everybody who has to has agreed."""
    content = copy_of(move, at=at)
    pictures = copyable_photos(giver) if move.has_photos else []
    for earlier in ReceivedRecord.objects.filter(
        client__in=person.ids_of(whose), move__client__in=move.entries, deleted_at__isnull=True
    ).select_related("salon"):
        drop_copy(earlier, by=by, at=at)
    record = ReceivedRecord.objects.create(
        salon=by.salon,
        client=whose,
        from_salon=move.salon.name,
        content=content,  # type: ignore[misc]  # closed as text
        photos=photos.copy(pictures, salon_id=by.salon_id, client_id=whose.pk),
        received_at=at,
        received_by=by,
    )
    came = warnings.bring(giver, record, by=by, at=at)
    record.alerts, record.hair_history = came["alerts"], came["hair_history"]
    record.save(update_fields=["alerts", "hair_history"])
    RecordMove.objects.filter(pk=move.pk).update(
        state=MoveState.RECEIVED, settled_at=at, received=record
    )
    audit.record_event("record received", target=record, by=by, at=at, move=move.pk)
    audit.record_event("record given", target=move, by=None, at=at, to_salon=by.salon_id)
    return record


def _joined(client: Client, giver: Client, by: Staff) -> Client:
    """Return the person here whom somebody found to be the same."""
    whose = person.root(Client.objects.select_related("salon", "merged_into").get(pk=client.pk))
    check_can_work_at_desk(whose, by=by)
    check_health_consent(whose)
    births = {whose.birth_date, giver.birth_date} - {None}
    if len(births) > 1 and not is_owner(by=by):
        raise MoveRefused(
            _("The birth dates differ. Only an owner can say that this is the same person."),
            code="birth_date",
        )
    return whose


def _check_may_be_given(move: RecordMove, giver: Client, ids: list[int]) -> None:
    """Refuse what is no longer what the client agreed to, as of now."""
    check_linked(move.salon, move.to_salon)
    if giver.shut or is_withdrawn(ids):
        raise MoveRefused(
            _("The record is shut in %(salon)s. Ask there."),
            code="shut",
            salon=move.salon.name,
        )
    if sorted(ids) != move.entries:
        raise MoveRefused(
            _(
                "In %(salon)s this record was merged or divided since the client signed. The"
                " client has to sign there again."
            ),
            code="merged",
            salon=move.salon.name,
        )


def _check_waits(move: RecordMove) -> None:
    if move.state != MoveState.WAITING:
        raise MoveRefused(_("This record no longer waits to be received."), code="settled")


def _check_receiver(move: RecordMove, by: Staff) -> None:
    if by.role not in FRONT or by.salon_id != move.to_salon_id:
        raise PermissionDenied(
            _("Only an owner or receptionist of the other salon can do this.")
        )
