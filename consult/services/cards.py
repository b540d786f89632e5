"""That a card was printed."""

import datetime as dt

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils.translation import gettext as _

from consult.models import CardPrinted, Visit
from salon import audit
from salon.models import Staff


@transaction.atomic
def record_card(
    *, visit: Visit, kind: str, digest: str, by: Staff, at: dt.datetime
) -> CardPrinted:
    """Record that a page of a visit was printed; the desk may print too."""
    if by.salon_id != visit.salon_id:
        raise PermissionDenied(_("This visit belongs to another salon."))
    row = CardPrinted.objects.create(
        visit=visit, kind=kind, digest=digest, printed_at=at, printed_by=by
    )
    audit.record_event("card printed", target=visit, by=by, at=at, card=kind)
    return row
