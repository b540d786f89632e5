"""A line compared with its results by the worker: how far that is, and what came of it."""

from dataclasses import dataclass

from consult.history import line_results
from consult.models import Visit
from formulas import kept_proposal
from formulas.models import ProductLine
from formulas.strength_proposal import Proposal
from salon.models import WorkRun
from salon.work import runs

COMPARISON = "comparison"


@dataclass(frozen=True)
class Comparison:
    """What a line's page shows.

    `proposal` is the latest that was computed; `is_outdated` where results have come in or the
    line was changed since. `run` is the latest about this line, `other` one that goes on about
    another line.
    """

    proposal: Proposal | None
    made: WorkRun | None
    run: WorkRun | None
    is_at_work: bool
    other: WorkRun | None
    is_outdated: bool
    has_results: bool

    @property
    def has_failed(self) -> bool:
        """Whether the latest run ended by a fault, or lost its task."""
        return self.run is not None and (
            self.run.has_failed or (self.run.is_open and not self.is_at_work)
        )


def comparison_of(line: ProductLine) -> Comparison:
    """Return what is known of a line compared with its results."""
    run = runs.latest(kind=COMPARISON, salon=line.salon, subject=line.pk)
    made = runs.latest_done(kind=COMPARISON, salon=line.salon, subject=line.pk)
    going_on = runs.open_run(kind=COMPARISON, salon=line.salon)
    is_at_work = going_on is not None and runs.is_at_work(going_on)
    is_other = going_on is not None and is_at_work and going_on.subject != line.pk
    newest = newest_visit(line)
    return Comparison(
        kept_proposal.read(made.outcome["proposal"]) if made else None,
        made,
        run,
        is_at_work and not is_other,
        going_on if is_other else None,
        made is not None and made.outcome["of"] != as_of(line, newest),
        newest is not None,
    )


def newest_visit(line: ProductLine) -> int | None:
    """Return the number of the visit of a line that was closed last."""
    closed = Visit.objects.closed().filter(line=line).order_by("-closed_at", "-pk")
    return closed.values_list("pk", flat=True).first()


def as_of(line: ProductLine, newest: int | None) -> list[int | None]:
    """Return what a comparison is of, as far as a page can tell quickly."""
    return [line.data_version, newest]


def is_of_now(line: ProductLine, made: WorkRun) -> bool:
    """Return whether a comparison is of every result of now, read again."""
    results = line_results.results_of(line)
    same: bool = made.outcome["inputs"] == kept_proposal.inputs_key(line=line, results=results)
    return same
