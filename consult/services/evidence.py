"""Noting the newest sign-off outside of the database."""

import base64
import datetime as dt

from django.db import transaction

from consult.agreement import anchor_mail, anchor_places, anchors, evidence
from consult.models import Anchor, SignOff
from salon import audit, signing_keys, timestamps
from salon.models import Salon, Staff
from salon.policies import require_owner


def anchor_sign_offs(*, salon: Salon, by: Staff | None, at: dt.datetime) -> Anchor | None:
    """Send a salon's newest sign-off to every place that is set; None where nothing is signed.

    `by` is None where a timer asks. Folder and authority are asked outside of any transaction,
    since they may take their time; what came of each is recorded with the anchor. Mails are
    queued with it.
    """
    if by is not None:
        require_owner(salon, by=by)
    last = evidence.last_anchor(salon)
    chain = SignOff.objects.filter(salon=salon).order_by("number")
    links = list(chain.filter(number__gt=last.position if last else 0))
    if not links and (newest := chain.last()):
        links = [newest]
    if not links:
        return None
    row = Anchor(
        salon=salon,
        position=links[-1].number,
        digest=links[-1].digest,
        text=anchors.text_of(salon, links, at=at, signer=signing_keys.signer()),
        made_at=at,
        made_by=by,
    )
    _let_stamp(row)
    _write(row)
    with transaction.atomic():
        row.save()
        anchor_mail.post(row, at=at)
        audit.record_event("sign-offs anchored", target=row, by=by, at=at, number=row.position)
    return row


def _let_stamp(row: Anchor) -> None:
    if not timestamps.is_set():
        return
    try:
        stamp = timestamps.stamp(row.text.encode())
        row.stamped_at = timestamps.stamped_at(stamp, row.text.encode())
        row.stamp = base64.b64encode(stamp).decode()
    except OSError as error:
        row.faults["stamp"] = str(error)


def _write(row: Anchor) -> None:
    try:
        file = anchor_places.write(row)
    except OSError as error:
        row.faults["file"] = str(error)
    else:
        row.file = f"{file.parent.name}/{file.name}" if file else ""
