"""What stands behind a figure of the owner's page, for its list."""

from collections.abc import Sequence

from consult.history import costs
from consult.history.conduct import VisitRow
from consult.history.fade import fade_of
from consult.history.overview import Question, looks_of
from consult.models import Visit


def spent(question: Question, rows: Sequence[VisitRow]) -> costs.Costs:
    """Return what some of a time's visits cost."""
    return costs.costs_of(
        Visit.objects.filter(pk__in=[row.pk for row in rows]),
        salon=question.salon,
        since=question.since,
        until=question.until,
    )


def faded(question: Question, first_week: int) -> set[int]:
    """Return the visits behind one row of the table of fading."""
    rows = [look for look in looks_of(question) if question.covers(look)]
    fade = fade_of(rows, salon=question.salon)
    return {pk for weeks in fade if weeks.first == first_week for pk in weeks.visits}
