"""Writes of shades. Every one raises the line's version, which suggestions name."""

import datetime as dt
from collections.abc import Sequence
from typing import Unpack

from django.db import transaction

from formulas import engine_inputs, policies, refusals
from formulas.models import ProductLine, Shade
from formulas.services.lines import take_version
from formulas.services.stock import receive_stock
from formulas.shade_changes import ShadeChanges
from formulas.shade_list.rows import ListedShade
from salon import audit
from salon.models import Staff
from salon.refusals import Refused


class ShadeRefused(Refused):
    """Raised when the engine cannot work with a shade; says why."""


@transaction.atomic
def add_shade(
    *,
    line: ProductLine,
    by: Staff,
    at: dt.datetime,
    expected_version: int | None = None,
    **fields: Unpack[ShadeChanges],
) -> Shade:
    """Add a shade to a line."""
    policies.check_can_change_lines(by=by, line=line)
    take_version(line, expected_version)
    shade = Shade(line=line, **fields)
    _save(shade)
    audit.record_event("shade added", target=shade, by=by, at=at)
    return shade


@transaction.atomic
def change_shade(
    *,
    shade: Shade,
    by: Staff,
    at: dt.datetime,
    expected_version: int | None = None,
    **fields: Unpack[ShadeChanges],
) -> Shade:
    """Change a shade; what was suggested with the earlier one names the earlier version."""
    policies.check_can_change_lines(by=by, line=shade.line)
    take_version(shade.line, expected_version)
    shade.refresh_from_db()
    for name, value in fields.items():
        setattr(shade, name, value)
    _save(shade)
    audit.record_event("shade changed", target=shade, by=by, at=at, fields=sorted(fields))
    return shade


@transaction.atomic
def add_listed_shades(
    *, line: ProductLine, listed: Sequence[ListedShade], by: Staff, at: dt.datetime
) -> list[Shade]:
    """Add the shades of a list to a line, with the tubes that came; all of them or none."""
    policies.check_can_change_lines(by=by, line=line)
    take_version(line, None)
    added = []
    for row in listed:
        shade = Shade(line=line, **row.given)
        _save(shade)
        audit.record_event("shade added", target=shade, by=by, at=at)
        if grams := row.received_grams:
            receive_stock(
                shade=shade, grams=grams, batch=row.batch, expires_on=row.expires_on,
                by=by, at=at,
            )  # fmt: skip
        added.append(shade)
    return added


def _save(shade: Shade) -> None:
    shade.full_clean()
    with refusals.refused_as(ShadeRefused):
        engine_inputs.check_shade(shade)
    shade.save()
