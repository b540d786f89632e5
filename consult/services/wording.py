"""The salon's own words of what clients sign: a change is a new number, earlier ones stay."""

import datetime as dt

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from consult.agreement import wordings
from consult.models import FIRST_OWN_NUMBER, StatementWording
from salon import audit
from salon.models import Staff
from salon.policies import require_owner
from salon.refusals import Refused, Stale


class WordingRefused(Refused):
    """Raised with what keeps the words from being signed."""


class WordingStale(Stale):
    """Raised when someone else put other words in force in the meantime."""

    is_worded_by_page = True


@transaction.atomic
def revise_wording(
    *,
    language: str,
    statement: str,
    understandings: str,
    by: Staff,
    at: dt.datetime,
    expected_number: int | None = None,
) -> StatementWording:
    """Put the salon's own words of a language in force; later choices use them.

    `expected_number` is the one that was being edited, 0 where the salon had none.
    """
    require_owner(by=by)
    problems = wordings.problems_of(statement)
    if problems:
        raise WordingRefused(" ".join(problems), code="problems")
    if not 1 <= len(wordings.lines(understandings)) <= wordings.MOST_UNDERSTANDINGS:
        raise WordingRefused(
            _("One to %(most)d sentences, each on its own line."),
            code="sentences",
            most=wordings.MOST_UNDERSTANDINGS,
        )
    latest = StatementWording.objects.filter(salon=by.salon, language=language).first()
    if expected_number is not None and expected_number != (latest.number if latest else 0):
        raise WordingStale
    row = StatementWording(
        salon=by.salon,
        language=language,
        number=latest.number + 1 if latest else FIRST_OWN_NUMBER,
        statement=statement.strip(),
        understandings="\n".join(wordings.lines(understandings)),
        recorded_at=at,
        recorded_by=by,
    )
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError:  # another owner saved in this very moment
        raise WordingStale from None
    audit.record_event(
        "wording revised", target=row, by=by, at=at, language=language, number=row.number
    )
    return row
