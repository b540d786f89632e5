"""Noting the newest sign-off outside of the database."""

import base64
import datetime as dt

from django.db import transaction

from consult.agreement import anchor_places, anchors, evidence
from consult.models import Anchor, SignOff
from salon import audit, signing_keys, timestamps
from salon.models import Role, Salon, Staff
from salon.policies import require_owner
from salon.selectors import team


def anchor_sign_offs(*, salon: Salon, by: Staff | None, at: dt.datetime) -> Anchor | None:
    """Send a salon's newest sign-off to every place that is set; None where nothing is signed.

    `by` is None where a timer asks. The places are asked outside of any transaction, since
    they may take their time; what came of each is recorded with the anchor.
    """
    if by is not None:
        require_owner(salon, by=by)
    last = evidence.last_anchor(salon)
    chain = SignOff.objects.filter(salon=salon).order_by("number")
    links = list(chain.filter(number__gt=last.position if last else 0)) or list(chain)[-1:]
    if not links:
        return None
    head = links[-1]
    text = anchors.text_of(salon, links, at=at, signer=signing_keys.signer())
    name = anchor_places.name_of(head.number, at)
    faults: dict[str, str] = {}
    stamp, stamped_at = _stamped(text, faults)
    file = _written(salon, name, text, stamp, faults)
    mails = _mailed(salon, name, text, stamp, head, faults)
    with transaction.atomic():
        row = Anchor.objects.create(
            salon=salon,
            position=head.number,
            digest=head.digest,
            text=text,
            file=file,
            mails=mails,
            stamp=base64.b64encode(stamp).decode(),
            stamped_at=stamped_at,
            faults=faults,
            made_at=at,
            made_by=by,
        )
        audit.record_event("sign-offs anchored", target=row, by=by, at=at, number=head.number)
    return row


def _stamped(text: str, faults: dict[str, str]) -> tuple[bytes, dt.datetime | None]:
    if not timestamps.is_set():
        return b"", None
    try:
        stamp = timestamps.stamp(text.encode())
        return stamp, timestamps.stamped_at(stamp, text.encode())
    except OSError as error:
        faults["stamp"] = str(error)
        return b"", None


def _written(salon: Salon, name: str, text: str, stamp: bytes, faults: dict[str, str]) -> str:
    try:
        file = anchor_places.write(salon.pk, name, text, stamp)
    except OSError as error:
        faults["file"] = str(error)
        return ""
    return f"{file.parent.name}/{file.name}" if file else ""


def _mailed(
    salon: Salon, name: str, text: str, stamp: bytes, head: SignOff, faults: dict[str, str]
) -> int:
    owners = team(salon=salon).filter(role=Role.OWNER, is_active=True).exclude(email="")
    try:
        return anchor_places.mail(
            list(owners.select_related("salon")),
            name=name,
            text=text,
            stamp=stamp,
            position=head.number,
            digest=head.digest,
        )
    except OSError as error:  # SMTPException is one
        faults["mail"] = f"{type(error).__name__}: {error}"
        return 0
