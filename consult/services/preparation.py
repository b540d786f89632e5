"""What is tested and done on the hair before the toner: rows are only ever added."""

import datetime as dt
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from consult import policies, selectors
from consult.models import PreTest, Visit, VisitStep
from consult.services.steps import advance
from formulas import mixing
from salon.models import Staff
from salon.refusals import Refused


class StepRefused(Refused):
    """Raised when a step is impossible or unsafe, or was replaced in the meantime."""


@transaction.atomic
def record_pre_test(
    *,
    visit: Visit,
    kind: str,
    result: str,
    by: Staff,
    at: dt.datetime,
    zone: str = "",
    note: str = "",
    expected_version: int | None = None,
) -> PreTest:
    """Record what a test on the hair showed."""
    policies.check_can_work_on(by=by, visit=visit)
    row = PreTest(
        visit=visit,
        kind=kind,
        zone=zone,
        result=result,
        note=note.strip(),
        recorded_at=at,
        recorded_by=by,
    )
    row.full_clean()
    advance(
        visit,
        kind="pre-test recorded",
        by=by,
        at=at,
        expected_version=expected_version,
        test=kind,
    )
    row.save()
    return row


@transaction.atomic
def record_step(
    *,
    visit: Visit,
    by: Staff,
    at: dt.datetime,
    replaces: VisitStep | None = None,
    expected_version: int | None = None,
    **fields: object,
) -> VisitStep:
    """Record a step, or put an earlier one right by a row that replaces it.

    `told`: kind, product, zones, developer_percent, developer_ratio, minutes, uses_heat,
    heat_note, level_reached, started_at, note.
    """
    policies.check_can_work_on(by=by, visit=visit)
    row = VisitStep(visit=visit, replaces=replaces, recorded_at=at, recorded_by=by, **fields)
    row.product = row.product.strip()
    row.strength_percent = _strength(row.developer_percent, row.developer_ratio)
    row.ended_at = _ended_at(row, at)
    return _add(row, "step corrected" if replaces else "step recorded", expected_version)


@transaction.atomic
def take_back_step(
    *, step: VisitStep, by: Staff, at: dt.datetime, expected_version: int | None = None
) -> VisitStep:
    """Take a step back that never happened, by a row that says so."""
    policies.check_can_work_on(by=by, visit=step.visit)
    copied = (
        "visit", "kind", "product", "zones", "developer_percent", "developer_ratio",
        "strength_percent", "minutes", "uses_heat", "heat_note", "level_reached", "note",
        "started_at", "ended_at",
    )  # fmt: skip
    row = VisitStep(
        replaces=step,
        is_taken_back=True,
        recorded_at=at,
        recorded_by=by,
        **{name: getattr(step, name) for name in copied},
    )
    return _add(row, "step taken back", expected_version)


def _add(row: VisitStep, kind: str, expected_version: int | None) -> VisitStep:
    visit = row.visit
    if row.replaces and row.replaces not in selectors.steps_in_force(visit):
        raise StepRefused(
            _("Someone changed this step since you opened it. Look at it again."),
            code="changed",
        )
    row.number = VisitStep.objects.filter(visit=visit).count() + 1
    row.full_clean()
    advance(
        visit,
        kind=kind,
        by=row.recorded_by,
        at=row.recorded_at,
        expected_version=expected_version,
        step=row.number,
    )
    row.save()
    return row


def _strength(percent: Decimal | None, ratio: Decimal | None) -> Decimal | None:
    """Return the peroxide as it goes on the hair, or refuse it above the legal limit."""
    if not percent and not ratio:
        return None
    if not percent or not ratio:
        raise StepRefused(
            _("Enter both the developer's strength and its ratio, or neither."),
            code="developer_half",
        )
    strength = mixing.strength_after_mixing(percent, ratio=ratio)
    try:
        mixing.check_peroxide(strength)
    except mixing.MixingRefused as refusal:
        raise StepRefused.of(refusal) from refusal
    return strength.quantize(Decimal("0.01"))


def _ended_at(row: VisitStep, at: dt.datetime) -> dt.datetime:
    """Return when a step was over: by its start and time, and no later than now."""
    if row.started_at is None:
        return row.replaces.ended_at if row.replaces else at
    if row.started_at > at:
        raise StepRefused(_("The start is in the future. Check the time."), code="future")
    return min(row.started_at + dt.timedelta(minutes=row.minutes or 0), at)
