"""The bench: bowls as weighed, processing as timed. Rows are only ever added."""

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from consult import policies, selectors, zones
from consult.models import (
    BowlLine,
    BowlMixed,
    Formula,
    MarkKind,
    ProcessingCheck,
    ProcessingMark,
    RinseUndone,
    Seen,
    Visit,
)
from consult.models.bowl import MOST_GRAMS
from consult.services.formula import check_may_mix
from consult.services.steps import OutOfOrder, advance
from consult.visit.loading import facts_of
from consult.visit.path import Act
from formulas import mixing
from formulas import services as formulary
from salon import audit
from salon.models import Staff
from salon.refusals import Refused

ONE_LOOK = dt.timedelta(seconds=20)
# A look a minute before the mark counts for it.
_SOON = dt.timedelta(minutes=1)


class BowlRefused(Refused):
    """Raised when what was poured cannot be recorded."""


class MarkRefused(Refused):
    """Raised when processing would start twice, or end before it began."""


@transaction.atomic
def mix_bowl(
    *,
    visit: Visit,
    formula: Formula,
    poured: Mapping[int, Decimal],
    developer_grams: Decimal,
    by: Staff,
    at: dt.datetime,
    batches: Mapping[int, str] | None = None,
    developer_batch: str = "",
    note: str = "",
    made_from: mixing.MadeFrom | None = None,
    developer_percent: Decimal | None = None,
    expected_version: int | None = None,
) -> BowlMixed:
    """Record a bowl as the scale showed it, by shade id, and draw the stock down.

    `developer_percent` is what the developer's bottle says, the formula's where it is left
    out; `made_from` which two bottles it was made from, where it was.
    """
    policies.check_can_work_on(by=by, visit=visit)
    if formula not in check_may_mix(visit, at).formulas:
        raise BowlRefused(
            _("This formula was replaced. Weigh the current one."), code="replaced"
        )
    lines = {line.shade_id: line for line in formula.lines.select_related("shade")}
    _check_weights(lines.keys(), poured, developer_grams)
    bottle = formula.developer_percent if developer_percent is None else developer_percent
    strength = _strength(bottle, poured, developer_grams)
    made = _made(bottle, developer_grams, made_from)
    advance(
        visit,
        kind="bowl mixed",
        by=by,
        at=at,
        expected_version=expected_version,
        formula=formula.pk,
    )
    bowl = BowlMixed.objects.create(
        visit=visit,
        formula=formula,
        number=visit.bowls.count() + 1,
        developer_grams=developer_grams,
        developer_batch=developer_batch.strip(),
        developer_percent=bottle,
        strength_percent=strength,
        **made,
        line_name=formula.line.name,
        developer_price_per_gram=formula.line.known_developer_price,
        note=note.strip(),
        mixed_at=at,
        mixed_by=by,
    )
    for pk, line in lines.items():
        batch = (batches or {}).get(pk, "").strip()
        BowlLine.objects.create(
            bowl=bowl,
            shade=line.shade,
            planned_grams=line.grams,
            poured_grams=poured[pk],
            batch=batch,
            shade_name=line.shade.name,
            price_per_gram=line.shade.known_price_per_gram,
        )
    # In one order for every bowl: two that share shades would else wait for each other.
    for pk in sorted(lines):
        batch = (batches or {}).get(pk, "").strip()
        formulary.draw_stock(shade=lines[pk].shade, grams=poured[pk], batch=batch, by=by, at=at)
    return bowl


@transaction.atomic
def start_processing(
    *, bowl: BowlMixed, by: Staff, at: dt.datetime, expected_version: int | None = None
) -> ProcessingMark:
    """Record that a bowl is on the hair."""
    visit = bowl.visit
    policies.check_can_work_on(by=by, visit=visit)
    if bowl.marks.exists():
        raise MarkRefused(_("The clock of this bowl is already running."), code="running")
    facts = facts_of(visit, at=at)
    if not facts.may(Act.START):
        raise OutOfOrder(facts.why_not(Act.START), code=Act.START)
    advance(
        visit,
        kind="processing started",
        by=by,
        at=at,
        expected_version=expected_version,
        bowl=bowl.number,
    )
    mark: ProcessingMark = ProcessingMark.objects.create(
        bowl=bowl, kind=MarkKind.START, marked_at=at, started_at=at, marked_by=by
    )
    return mark


@transaction.atomic
def end_processing(
    *, bowl: BowlMixed, by: Staff, at: dt.datetime, expected_version: int | None = None
) -> ProcessingMark:
    """Record that a bowl was rinsed; nothing else that is due prevents it."""
    visit = bowl.visit
    policies.check_can_work_on(by=by, visit=visit)
    marks = {mark.kind: mark for mark in bowl.marks.all()}
    start = marks.get(MarkKind.START)
    if start is None or MarkKind.END in marks:
        raise MarkRefused(_("No clock is running for this bowl."), code="not_running")
    if at < start.marked_at:
        raise MarkRefused(_("Processing cannot end before it started."), code="before_start")
    advance(
        visit,
        kind="rinsed",
        by=by,
        at=at,
        expected_version=expected_version,
        bowl=bowl.number,
    )
    mark: ProcessingMark = ProcessingMark.objects.create(
        bowl=bowl,
        kind=MarkKind.END,
        number=RinseUndone.objects.filter(mark__bowl=bowl).count() + 1,
        marked_at=at,
        started_at=start.marked_at,
        marked_by=by,
    )
    return mark


@transaction.atomic
def note_check(
    *,
    bowl: BowlMixed,
    seen: str,
    by: Staff,
    at: dt.datetime,
    mark_minutes: int | None = None,
    zones_key: str = "",
) -> ProcessingCheck:
    """Record what a look at a processing bowl showed, or that a part is on or rinsed."""
    visit = bowl.visit
    policies.check_can_work_on(by=by, visit=visit)
    marks = {mark.kind: mark for mark in bowl.marks.all()}
    start = marks.get(MarkKind.START)
    if visit.has_ended or start is None or MarkKind.END in marks:
        raise MarkRefused(_("No clock is running for this bowl."), code="not_running")
    if at < start.marked_at:
        raise MarkRefused(_("Start the clock before you check."), code="before_start")
    served = set(zones.Group(bowl.formula.zones).members)
    if zones_key and not set(zones.Group(zones_key).members) < served:
        raise MarkRefused(_("This bowl is for other parts of the hair."), code="other_zones")
    rinsed = selectors.zones_covered(
        c.zones for c in bowl.checks.all() if c.seen == Seen.RINSED
    )
    if seen == Seen.RINSED and rinsed & set(zones.Group(zones_key).members):
        raise MarkRefused(_("This part is already rinsed."), code="rinsed")
    on = selectors.zones_covered(c.zones for c in bowl.checks.all() if c.seen == Seen.ON)
    if seen == Seen.ON and on & set(zones.Group(zones_key).members):
        raise MarkRefused(_("This part is already on."), code="on")
    last = max(bowl.checks.all(), key=lambda check: check.pk, default=None)
    if (
        last
        and (last.zones, last.seen) == (zones_key, seen)
        and at - last.checked_at < ONE_LOOK
    ):
        return last  # the same look sent twice
    check = ProcessingCheck(
        bowl=bowl,
        mark_minutes=mark_minutes or _mark_due(bowl, at - start.marked_at),
        zones=zones_key,
        seen=seen,
        checked_at=at,
        started_at=start.marked_at,
        checked_by=by,
    )
    check.full_clean()
    check.save()
    audit.record_event("bowl looked at", target=bowl, by=by, at=at, seen=seen)
    return check


def _mark_due(bowl: BowlMixed, elapsed: dt.timedelta) -> int | None:
    """Return the line's mark that a look now is for, or None between the marks."""
    noted = {check.mark_minutes for check in bowl.checks.all()}
    due = [
        mark
        for mark in bowl.formula.line.check_minutes
        if mark not in noted and dt.timedelta(minutes=mark) - _SOON <= elapsed
    ]
    return max(due, default=None)


def _made(
    percent: Decimal, developer_grams: Decimal, made_from: mixing.MadeFrom | None
) -> dict[str, Decimal]:
    """Return the grams of both bottles, to the scale, or refuse what cannot be made."""
    if made_from is None or not developer_grams:
        return {}
    try:
        dilution = mixing.dilute_developer(
            stronger=made_from.stock,
            weaker=made_from.thinner,
            wanted=percent,
            grams=developer_grams,
        )
    except mixing.MixingRefused as refusal:
        raise BowlRefused.of(refusal) from refusal
    stock_grams = dilution.stronger_grams.quantize(Decimal("0.1"))
    return {
        "stock_percent": made_from.stock,
        "stock_grams": stock_grams,
        "thinner_percent": made_from.thinner,
        "thinner_grams": developer_grams - stock_grams,
    }


def _strength(
    percent: Decimal, poured: Mapping[int, Decimal], developer_grams: Decimal
) -> Decimal:
    """Return the peroxide of the bowl as poured, or refuse it above the legal limit."""
    try:
        return mixing.mixture_of(
            colour_grams=sum(poured.values(), Decimal(0)),
            developer_grams=developer_grams,
            developer_percent=percent,
        ).strength_percent
    except mixing.MixingRefused as refusal:
        raise BowlRefused.of(refusal) from refusal


def _check_weights(
    wanted: object, poured: Mapping[int, Decimal], developer_grams: Decimal
) -> None:
    if set(poured) != set(wanted):  # type: ignore[call-overload]
        raise BowlRefused(
            _("Enter what the scale shows for each shade."), code="weight_missing"
        )
    if any(grams <= 0 for grams in poured.values()):
        raise BowlRefused(
            _("Every weight must be above zero. To leave out a shade, change the formula."),
            code="not_positive",
        )
    if developer_grams < 0 or any(g > MOST_GRAMS for g in [*poured.values(), developer_grams]):
        raise BowlRefused(_("No bowl holds that much. Check the weight."), code="too_heavy")
