"""Writes of the formulary."""

import datetime as dt
from decimal import Decimal
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from formulas import selectors
from formulas.engine import demo_lines
from formulas.models import ChartEntry, MovementReason, ProductLine, Shade, StockMovement
from salon import audit
from salon.models import Role, Staff


class StockRefused(ValueError):
    """Raised when more would leave the shelf than stands on it."""


class ChartRefused(ValueError):
    """Raised when a colour does not fit the chart; says why."""


@transaction.atomic
def add_line(*, by: Staff, at: dt.datetime, **fields: Any) -> ProductLine:
    """Add a product line to the actor's salon."""
    _check_owner(by)
    line = ProductLine(salon=by.salon, **fields)
    line.full_clean()
    line.save()
    audit.record_event("line added", target=line, by=by, at=at)
    return line


@transaction.atomic
def change_line(
    *, line: ProductLine, by: Staff, at: dt.datetime, composition_changed: bool, **fields: Any
) -> ProductLine:
    """Change a line; where its composition changed, earlier patch tests stop counting."""
    _check_owner(by)
    for name, value in fields.items():
        setattr(line, name, value)
    if composition_changed:
        line.composition_changed_at = at
    line.data_version += 1
    line.full_clean()
    line.save()
    audit.record_event(
        "line changed", target=line, by=by, at=at, composition=composition_changed
    )
    return line


@transaction.atomic
def add_shade(*, line: ProductLine, by: Staff, at: dt.datetime, **fields: Any) -> Shade:
    """Add a shade to a line."""
    _check_owner(by)
    shade = Shade(line=line, **fields)
    shade.full_clean()
    shade.save()
    _raise_version(line)
    audit.record_event("shade added", target=shade, by=by, at=at)
    return shade


@transaction.atomic
def receive_stock(
    *, shade: Shade, grams: Decimal, by: Staff, at: dt.datetime, batch: str = ""
) -> StockMovement:
    """Put grams of a shade on the shelf."""
    return _move(shade, grams, MovementReason.RECEIVED, by=by, at=at, batch=batch)


@transaction.atomic
def draw_stock(
    *, shade: Shade, grams: Decimal, by: Staff, at: dt.datetime, batch: str = ""
) -> StockMovement:
    """Take what was mixed off the shelf; what was poured is recorded even if it exceeds it.

    The bowl is a fact; a shelf that goes below zero shows that a delivery was not entered.
    """
    return _move(shade, -grams, MovementReason.MIXED, by=by, at=at, batch=batch)


@transaction.atomic
def count_stock(
    *, shade: Shade, grams: Decimal, by: Staff, at: dt.datetime
) -> StockMovement | None:
    """Set the shelf to what was counted; nothing is recorded where it already agrees."""
    difference = grams - selectors.stock_of(shade=shade)
    if not difference:
        return None
    return _move(shade, difference, MovementReason.COUNTED, by=by, at=at)


@transaction.atomic
def replace_chart_entry(*, by: Staff, at: dt.datetime, **fields: Any) -> ChartEntry:
    """Put one colour of the salon's own into the chart, if the chart then still makes sense."""
    _check_owner(by)
    entry = ChartEntry(salon=by.salon, recorded_by=by, recorded_at=at, **fields)
    entry.full_clean()
    entry.save()
    try:
        selectors.chart_of(salon=by.salon)
    except ValueError as error:
        raise ChartRefused(str(error)) from error
    audit.record_event("chart entry replaced", target=entry, by=by, at=at)
    return entry


@transaction.atomic
def load_demo_line(
    *, name: str, by: Staff, at: dt.datetime, tube_price: Decimal = Decimal("7.20")
) -> ProductLine:
    """Add one of the engine's invented lines with all its shades, without stock."""
    source = demo_lines()[name]
    line = add_line(
        by=by,
        at=at,
        name=source.name,
        kind=source.kind,
        developer_ratio=Decimal(str(source.developer_ratio)),
        developer_percent=Decimal(str(source.developer_percent)),
        processing_minutes=int(source.processing_minutes),
    )
    Shade.objects.bulk_create(
        Shade(
            line=line,
            name=shade.name,
            level=None if shade.level is None else Decimal(str(shade.level)),
            tones=dict(shade.tones),
            neutral=shade.neutral,
            tube_price=tube_price,
        )
        for shade in source.shades
    )
    return line


def _move(
    shade: Shade, grams: Decimal, reason: str, *, by: Staff, at: dt.datetime, batch: str = ""
) -> StockMovement:
    if by.role == Role.RECEPTIONIST:
        raise PermissionDenied(_("Stock is kept by stylists and owners."))
    movement = StockMovement(
        shade=shade, grams=grams, reason=reason, batch=batch, recorded_by=by, recorded_at=at
    )
    movement.full_clean()
    movement.save()
    audit.record_event("stock moved", target=movement, by=by, at=at, reason=reason)
    return movement


def _raise_version(line: ProductLine) -> None:
    ProductLine.objects.filter(pk=line.pk).update(data_version=F("data_version") + 1)
    line.refresh_from_db(fields=["data_version"])


def _check_owner(by: Staff) -> None:
    if by.role != Role.OWNER:
        raise PermissionDenied(_("Only an owner may change the lines."))
