"""What is behind a figure of the owner's page, for its list."""

from collections.abc import Sequence

from consult.history import costs
from consult.history.conduct import Kind, VisitRow
from consult.history.fade import fade_of
from consult.history.looks import once_each
from consult.history.overview import looks_of
from consult.history.question import Question
from consult.history.range_claims import CLAIMS
from consult.models import Visit


def spent(question: Question, rows: Sequence[VisitRow]) -> costs.Costs:
    """Return what some of a time's visits cost."""
    return costs.costs_of(
        Visit.objects.filter(pk__in=[row.pk for row in rows]),
        salon=question.salon,
        since=question.since,
        until=question.until,
    )


def visits_behind(question: Question, kind: str, part: str) -> set[int] | None:
    """Return the visits behind a figure that is of results; None for other figures.

    `part` is the first week of a row of the table of fading, or a range and its number
    ("95-depth").
    """
    if kind not in {Kind.FADED, Kind.OUTSIDE}:
        return None
    rows = [look for look in looks_of(question) if question.covers(look)]
    if kind == Kind.FADED:
        fade = fade_of(rows, salon=question.salon)
        return {pk for weeks in fade if str(weeks.first) == part for pk in weeks.visits}
    percent, _dash, number = part.partition("-")
    limits = {str(claim): limit for claim, limit in CLAIMS}
    if percent not in limits:
        return set()
    return {look.visit for look in once_each(rows) if look.distance(number) > limits[percent]}
