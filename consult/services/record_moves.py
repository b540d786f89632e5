"""A client agrees that another salon of the same owner gets a copy of the record.

Nothing is copied by that: the other salon has to receive it (`consult.services.receiving`).
Each act is on record where it happened; in the other salon it is too, under nobody's name.
"""

import datetime as dt

from django.db import transaction
from django.utils.translation import gettext as _

from clients.models import Client, ConsentKind, MoveState, RecordMove
from clients.models.client import searchable
from clients.people.age import ADULT_AGE
from clients.people.consent_texts import move_words
from clients.policies import check_can_work_at_desk
from clients.privacy.copies import record_in_both
from clients.selectors.health_consent import health_consent
from clients.services import record_consent
from clients.services.health_consent import check_health_consent
from consult.agreement import strokes
from consult.models import Method
from consult.portability.moves import (
    MoveRefused,
    check_linked,
    copyable_photos,
    entries_held,
    held,
    person_of,
)
from salon.models import Salon, Staff


@transaction.atomic
def ask_move(
    *,
    client: Client,
    to_salon: Salon,
    method: str,
    signed_name: str,
    by: Staff,
    at: dt.datetime,
    drawn: str = "",
    is_turned: bool = False,
    has_photos: bool = False,
) -> RecordMove:
    """Record under the client's signature that another salon of the same owner gets a copy."""
    check_can_work_at_desk(client, by=by)
    [ids] = entries_held(client)
    client = person_of(ids)
    check_can_work_at_desk(client, by=by)
    check_linked(client.salon, to_salon)
    check_health_consent(client)
    name = " ".join(signed_name.split())
    if not any(letter.isalpha() for letter in name):
        raise MoveRefused(_("Type the name of the person who signs."), code="no_name")
    if RecordMove.objects.filter(
        client__in=ids, to_salon=to_salon, state=MoveState.WAITING
    ).exists():
        raise MoveRefused(_("This is on record already."), code="already")
    is_minor = health_consent(client=client, at=at).is_minor
    if is_minor and searchable(name) in {searchable(client.name), searchable(client.known_as)}:
        raise MoveRefused(
            _("Under %(age)d a parent or guardian signs."), code="minor", age=ADULT_AGE
        )
    has_photos = has_photos and bool(copyable_photos(client))
    words = move_words(client, to_salon, by_guardian=is_minor)
    consent = record_consent(
        client=client,
        kind=ConsentKind.RECORD_MOVE,
        wording=words.agreed(has_photos=has_photos),
        is_given=True,
        guardian=name if is_minor else "",
        signed_name=name,
        strokes=strokes.cleaned(drawn, is_turned=is_turned) if method == Method.DRAWN else "",
        by=by,
        at=at,
    )
    move = RecordMove.objects.create(
        salon=client.salon,
        client=client,
        to_salon=to_salon,
        consent=consent,
        has_photos=has_photos,
        entries=sorted(ids),
        signed_at=at,
        recorded_by=by,
    )
    record_in_both("record move signed", move, by=by, at=at)
    return move


@transaction.atomic
def withdraw_move(*, move: RecordMove, by: Staff, at: dt.datetime) -> RecordMove:
    """Record that the client no longer agrees.

    A copy that was made stays until the other salon deletes it: it is told, nothing is reached
    across salons.
    """
    check_can_work_at_desk(move, by=by)
    move = held(move)
    can_be_withdrawn = move.state in {MoveState.WAITING, MoveState.RECEIVED}
    if move.withdrawn_at is not None or not can_be_withdrawn:
        raise MoveRefused(_("This has been settled already."), code="settled")
    record_consent(
        client=move.client,
        kind=ConsentKind.RECORD_MOVE,
        wording=move.consent.wording,
        is_given=False,
        by=by,
        at=at,
    )
    move.withdrawn_at = at
    if move.state == MoveState.WAITING:
        move.state, move.settled_at = MoveState.WITHDRAWN, at
    move.save()
    record_in_both("record move withdrawn", move, by=by, at=at)
    return move
