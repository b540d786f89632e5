"""What came out of it, as the eye sees it on dry hair."""

import datetime as dt

from django.db import transaction
from django.utils.translation import gettext as _

from consult import policies, selectors
from consult.models import ResultSeen, Status, Visit
from consult.refusals import Refused
from consult.services.steps import advance, check_reached
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
    check_reached(visit, Status.RESULT)
    wanted = selectors.groups_toned(visit)
    if zones not in wanted:
        raise ResultRefused(_("This part of the hair was not toned in this visit."))
    row = ResultSeen(visit=visit, zones=zones, seen_at=at, seen_by=by, **seen)
    row.full_clean()
    missing = set(wanted) - set(selectors.results_in_force(visit)) - {zones}
    advance(
        visit,
        to=Status.RESULT if missing else Status.CLOSING,
        kind="result seen",
        by=by,
        at=at,
        expected_version=expected_version,
        zones=zones,
    )
    row.save()
    return row
