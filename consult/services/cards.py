"""That a card or a slip was printed."""

import datetime as dt

from django.db import transaction

from clients.models import PatchTest
from consult import policies
from consult.models import CardPrinted, Visit
from salon import audit
from salon.models import Staff


@transaction.atomic
def record_card(
    *, visit: Visit, kind: str, digest: str, by: Staff, at: dt.datetime
) -> CardPrinted:
    """Record that a page of a visit was printed; the desk may print too."""
    policies.check_can_print(visit, by=by)
    row = CardPrinted.objects.create(
        visit=visit, kind=kind, digest=digest, printed_at=at, printed_by=by
    )
    audit.record_event("card printed", target=visit, by=by, at=at, card=kind)
    return row


@transaction.atomic
def note_slip(*, test: PatchTest, by: Staff, at: dt.datetime) -> None:
    """Note that the slip of a patch test was printed."""
    policies.check_can_print(test.client, by=by)
    audit.record_event("patch slip printed", target=test, by=by, at=at)
