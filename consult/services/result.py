"""What came out of it, as the eye sees it on dry hair."""

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from consult import policies
from consult.bench import outcome
from consult.bench.look import Look
from consult.models import ResultSeen, Visit
from consult.services.steps import OutOfOrder, advance
from consult.visit.bowls import TonedGroup
from consult.visit.loading import facts_of
from consult.visit.path import Act
from formulas.drawing import strands
from formulas.engine_inputs import ground_of
from formulas.snapshots import Prediction
from salon.models import Staff
from salon.refusals import Refused


class ResultRefused(Refused):
    """Raised when a result is given for hair that was not toned."""


@transaction.atomic
def see_results(
    *,
    visit: Visit,
    looks: Mapping[str, Look | None],
    by: Staff,
    at: dt.datetime,
    expected_version: int | None = None,
    **shared: object,
) -> list[ResultSeen]:
    """Record in one go what several groups of zones show; None where nobody looked.

    `said` goes for all of them: evenness, client_word, note.
    """
    policies.check_can_work_on(by=by, visit=visit)
    toned = _toned(visit, at=at)
    if not looks or not set(looks) <= set(toned):
        raise ResultRefused(_("This part of the hair was not toned in this visit."))
    rows = []
    for key, look in looks.items():
        predicted = outcome.predicted_on(visit, toned[key], at=at)
        seen = _measured(predicted, look) if look else {"is_looked_at": False}
        if predicted and look:
            chart = ground_of(visit.line).chart
            predicted = {**predicted, "read_in": strands.read_in(chart, predicted)}
        fields = {**shared, **seen} if look else {"note": shared.get("note", ""), **seen}
        rows.append(_row(visit, key, by=by, at=at, predicted=predicted, **fields))
    return _saved(visit, rows, by=by, at=at, expected_version=expected_version)


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
    """Record one group of zones as measured; a second look is a further row.

    `seen`: level, warmth_left_percent, undertone, evenness, client_word, note.
    """
    policies.check_can_work_on(by=by, visit=visit)
    toned = _toned(visit, at=at)
    if zones not in toned:
        raise ResultRefused(_("This part of the hair was not toned in this visit."))
    predicted = outcome.predicted_on(visit, toned[zones], at=at)
    row = _row(visit, zones, by=by, at=at, predicted=predicted, **seen)
    return _saved(visit, [row], by=by, at=at, expected_version=expected_version)[0]


def _toned(visit: Visit, *, at: dt.datetime) -> dict[str, TonedGroup]:
    """Return what can be looked at by group, or refuse."""
    facts = facts_of(visit, at=at)
    if not facts.may(Act.SEE):
        raise OutOfOrder(facts.why_not(Act.SEE), code=Act.SEE)
    return {group.zones: group for group in facts.toned if not group.is_running}


def _measured(predicted: Prediction, look: Look) -> dict[str, object]:
    """Return the level and the warmth that a look beside the predicted strand means."""
    level = predicted["level"]["value"] - look.deeper
    warmth = predicted["warmth_left_percent"]["value"] + look.warmer
    return {
        "level": Decimal(str(round(min(max(level, 1.0), 10.0), 1))),
        "warmth_left_percent": round(min(max(warmth, -50.0), 150.0)),
    }


def _row(
    visit: Visit,
    key: str,
    *,
    by: Staff,
    at: dt.datetime,
    predicted: Prediction,
    **seen: object,
) -> ResultSeen:
    row = ResultSeen(
        visit=visit, zones=key, seen_at=at, seen_by=by, predicted=predicted, **seen
    )
    level, warmth = row.level, row.warmth_left_percent
    if row.is_looked_at and level is not None and warmth is not None:
        colour = strands.seen_hex(
            ground_of(visit.line).chart,
            predicted,
            deeper=predicted["level"]["value"] - float(level),
            warmer=warmth - predicted["warmth_left_percent"]["value"],
        )
        row.predicted = {**predicted, "seen_hex": colour}
    row.full_clean()
    return row


def _saved(
    visit: Visit,
    rows: list[ResultSeen],
    *,
    by: Staff,
    at: dt.datetime,
    expected_version: int | None,
) -> list[ResultSeen]:
    advance(
        visit,
        kind="result seen",
        by=by,
        at=at,
        expected_version=expected_version,
        zones=" ".join(row.zones for row in rows),
    )
    for row in rows:
        row.save()
    return rows
