"""Writes of product lines."""

import datetime as dt
from typing import Any

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from formulas import policies
from formulas.models import InventedAnswer, ProductLine
from salon import audit
from salon.models import Staff
from salon.refusals import Stale


class StaleLine(Stale):
    """Raised when someone else changed the line or a shade of it since the form was opened."""


@transaction.atomic
def add_line(*, by: Staff, at: dt.datetime, **fields: Any) -> ProductLine:
    """Add a product line to the actor's salon."""
    policies.check_can_change_lines(by=by)
    line = ProductLine(salon=by.salon, **fields)
    line.full_clean()
    line.save()
    audit.record_event("line added", target=line, by=by, at=at)
    return line


@transaction.atomic
def change_line(
    *,
    line: ProductLine,
    by: Staff,
    at: dt.datetime,
    expected_version: int | None = None,
    composition_changed: bool = False,
    **fields: Any,
) -> ProductLine:
    """Change a line; where its composition changed, earlier patch tests stop counting."""
    policies.check_can_change_lines(by=by, line=line)
    take_version(line, expected_version)
    was_invented = line.is_starting_point
    for name, value in fields.items():
        setattr(line, name, value)
    if line.is_starting_point != was_invented:
        # Ticked by hand, the owner knows and need not be asked.
        known, own = InventedAnswer.KNOWN, InventedAnswer.OWN
        line.invented_answer = known if line.is_starting_point else own
        line.invented_answered_at = at
    if composition_changed:
        line.composition_changed_at = at
    line.full_clean()
    line.save()
    audit.record_event(
        "line changed",
        target=line,
        by=by,
        at=at,
        fields=sorted(fields),
        composition=composition_changed,
    )
    return line


@transaction.atomic
def answer_invented(
    *, line: ProductLine, answer: InventedAnswer, by: Staff, at: dt.datetime
) -> ProductLine:
    """Record what an owner says of a line's invented values; one's own loses the mark."""
    policies.check_can_change_lines(by=by, line=line)
    take_version(line, None)
    line.invented_answer = answer
    line.invented_answered_at = at
    line.is_starting_point = answer != InventedAnswer.OWN
    line.full_clean()
    line.save()
    audit.record_event(
        "invented line answered", target=line, by=by, at=at, answer=InventedAnswer(answer).value
    )
    return line


@transaction.atomic
def change_composition(
    *, line: ProductLine, by: Staff, at: dt.datetime, expected_version: int | None = None
) -> ProductLine:
    """Record that the maker changed it: every earlier patch test stops counting."""
    policies.check_can_change_lines(by=by, line=line)
    take_version(line, expected_version)
    line.composition_changed_at = at
    line.save()
    audit.record_event("line composition changed", target=line, by=by, at=at)
    return line


def take_version(line: ProductLine, expected: int | None) -> None:
    """Raise the line's version, unless it is no longer the expected one."""
    row = ProductLine.objects.filter(pk=line.pk)
    if expected is not None:
        row = row.filter(data_version=expected)
    if not row.update(data_version=F("data_version") + 1):
        raise StaleLine(
            _(
                "Someone else changed this line or its shades since you opened the page. "
                "Compare, then save again."
            )
        )
    line.refresh_from_db()
