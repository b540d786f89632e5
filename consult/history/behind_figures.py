"""What is behind a figure of the owner's page, for its list."""

from collections.abc import Iterator, Sequence
from functools import partial

from django.db.models import QuerySet

from consult.history import conduct, costs
from consult.history.conduct import Kind, VisitRow
from consult.history.fade import fade_of
from consult.history.looks import once_each
from consult.history.overview import looks_of
from consult.history.question import Question, visits_in_question
from consult.history.range_claims import CLAIMS
from consult.models import Visit
from salon.files.pieces import PIECE, numbers
from salon.replica import from_replica


def spent(question: Question, rows: Sequence[VisitRow]) -> costs.Costs:
    """Return what some of a time's visits cost."""
    return costs.costs_of(
        Visit.objects.filter(pk__in=[row.pk for row in rows]),
        salon=question.salon,
        since=question.since,
        until=question.until,
    )


def listed(question: Question, kind: str, part: str) -> QuerySet[Visit]:
    """Return the visits behind a figure, however many they are."""
    visits = visits_in_question(question)
    behind = visits_behind(question, kind, part)
    if behind is None:
        return conduct.of_kind(visits, kind, salon=question.salon)
    return visits.filter(pk__in=behind)


def rows_of(question: Question, pks: Sequence[int]) -> list[tuple[VisitRow, costs.Spent]]:
    """Return some of these visits as a list shows them, latest first, with what each cost."""
    rows = conduct.visits_of(
        Visit.objects.filter(pk__in=pks), salon=question.salon, most=len(pks)
    )
    own = spent(question, rows)
    return [(row, own.of_visit(row.pk)) for row in rows]


def in_pieces(
    question: Question, visits: QuerySet[Visit]
) -> Iterator[tuple[VisitRow, costs.Spent]]:
    """Yield every one of these visits, latest first, some at a time."""
    pks = from_replica(partial(numbers, visits.order_by("-opened_at", "-pk")))
    for start in range(0, len(pks), PIECE):
        yield from from_replica(partial(rows_of, question, pks[start : start + PIECE]))


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
