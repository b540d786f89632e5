"""A rinse long before time: its reason, asked once, and a minute in which it can be undone."""

import datetime as dt

from django.db import transaction
from django.utils.translation import gettext as _

from consult import policies
from consult.models import BowlMixed, MarkKind, ProcessingMark, RinseReason, RinseUndone
from consult.services.steps import advance
from consult.visit.bowls import UNDO_FOR
from consult.visit.loading import facts_of
from salon import audit
from salon.models import Staff
from salon.refusals import Refused

# What a slow network may add to the minute that the page shows.
_GRACE = dt.timedelta(seconds=20)


class RinseRefused(Refused):
    """Raised when a rinse cannot be undone any more, or has no reason to give."""


@transaction.atomic
def undo_rinse(
    *, bowl: BowlMixed, by: Staff, at: dt.datetime, expected_version: int | None = None
) -> RinseUndone:
    """Let a bowl's clock run on from its start; the mark of the rinse stays on record."""
    visit = bowl.visit
    policies.check_can_work_on(by=by, visit=visit)
    mark = _rinsed(bowl)
    if at - mark.marked_at > UNDO_FOR + _GRACE:
        raise RinseRefused(
            _("More than a minute has passed: the rinse stays on record."), code="too_late"
        )
    if facts_of(visit, at=at).has_more_since(mark.marked_at):
        raise RinseRefused(
            _("More has been recorded since: the rinse stays on record."), code="recorded_since"
        )
    advance(
        visit,
        kind="rinse undone",
        by=by,
        at=at,
        expected_version=expected_version,
        bowl=bowl.number,
    )
    return RinseUndone.objects.create(mark=mark, undone_at=at, undone_by=by)


@transaction.atomic
def give_rinse_reason(
    *, bowl: BowlMixed, reason: str, by: Staff, at: dt.datetime
) -> RinseReason:
    """Record why a bowl was rinsed early; the first answer stays."""
    policies.check_can_work_on(by=by, visit=bowl.visit)
    mark = _rinsed(bowl)
    known = RinseReason.objects.filter(mark=mark).first()
    if known:
        return known
    row = RinseReason(mark=mark, reason=reason, recorded_at=at, recorded_by=by)
    row.full_clean()
    row.save()
    audit.record_event("early rinse explained", target=bowl, by=by, at=at, reason=reason)
    return row


def _rinsed(bowl: BowlMixed) -> ProcessingMark:
    mark = bowl.marks.filter(kind=MarkKind.END).first()
    if mark is None:
        raise RinseRefused(_("This bowl is not rinsed."), code="not_rinsed")
    return mark
