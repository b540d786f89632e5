"""What the consultation does outside of requests."""

import datetime as dt
from typing import Any

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django_tasks import task

from clients.sealed import keys
from consult import services
from consult.history import comparison, line_results
from formulas import kept_proposal
from formulas.models import ProductLine
from formulas.strength_proposal import propose
from salon.models import RunState, Staff, WorkRun
from salon.policies import require_owner
from salon.refusals import Refused
from salon.work import lanes, runs


class ComparisonRefused(Refused):
    """Raised where a line cannot be compared now."""


@task()
def anchor_now(by_pk: int) -> None:
    """Anchor the newest sign-off for an owner; a second time it makes one more, no harm."""
    by = Staff.objects.select_related("salon").get(pk=by_pk)
    services.anchor_sign_offs(salon=by.salon, by=by, at=timezone.now())


@task(queue_name=lanes.LONG)
def compare_line(pk: int) -> None:
    """Compare a line with its results, and keep what they propose."""
    run = WorkRun.objects.select_related("salon").filter(pk=pk, state=RunState.OPEN).first()
    if run is None:
        return
    try:
        with keys.at_hand():
            runs.end(run, outcome=_compared(run))
    except Exception:
        runs.fail(pk)
        raise


def _compared(run: WorkRun) -> dict[str, Any]:
    def seen(visits: int) -> None:
        WorkRun.objects.filter(pk=run.pk).update(rows_done=visits)

    line = ProductLine.objects.select_related("salon").get(pk=run.subject, salon=run.salon)
    # Before the results: one that comes in while they are read makes it outdated.
    of = comparison.as_of(line, comparison.newest_visit(line))
    results = line_results.results_of(line, seen=seen)
    return {
        "of": of,
        "inputs": kept_proposal.inputs_key(line=line, results=results),
        "proposal": kept_proposal.kept(propose(line=line, results=results)),
    }


@transaction.atomic
def begin_comparison(*, line: ProductLine, by: Staff, at: dt.datetime) -> WorkRun:
    """Begin to compare a line with its results; asked for twice, once.

    Raises
    ------
    ComparisonRefused
        If another line of the salon is being compared.
    """
    require_owner(line.salon, by=by)
    run = runs.begin(
        compare_line, kind=comparison.COMPARISON, salon=line.salon, subject=line.pk, by=by,
        at=at, count=lambda: line_results.visits_count(line),
    )  # fmt: skip
    if run.subject != line.pk:
        raise ComparisonRefused(
            _("Another line is being compared. Try again once that is done."), code="busy"
        )
    return run
