"""What came out of it, as the eye sees it on dry hair."""

import datetime as dt

from django.db import transaction
from django.utils.translation import gettext as _

from consult import policies
from consult.models import ResultSeen, Visit
from consult.refusals import Refused
from consult.services.steps import OutOfOrder, advance
from consult.visit.loading import facts_of
from consult.visit.path import Act
from salon.models import Staff


class ResultRefused(Refused):
    """Raised when a result is given for hair that was not toned."""


@transaction.atomic
def see_result(
    *,
    visit: Visit,
    zones: str,
    by: Staff,
    at: dt.datetime,
    expected_version: int | None = None,
    **seen: object,
) -> ResultSeen:
    """Record what one group of zones shows; a second look is a further row.

    `seen`: level, warmth_left_percent, undertone, evenness, client_word, note.
    """
    policies.check_can_work_on(by=by, visit=visit)
    facts = facts_of(visit, at=at)
    if not facts.may(Act.SEE):
        raise OutOfOrder(facts.why_not(Act.SEE))
    if zones not in {group.zones for group in facts.toned if not group.is_running}:
        raise ResultRefused(_("This part of the hair was not toned in this visit."))
    row = ResultSeen(visit=visit, zones=zones, seen_at=at, seen_by=by, **seen)
    row.full_clean()
    advance(
        visit,
        kind="result seen",
        by=by,
        at=at,
        expected_version=expected_version,
        zones=zones,
    )
    row.save()
    return row
