"""The engine's invented lines, as a salon's own."""

import datetime as dt
from decimal import Decimal

from django.db import transaction

from formulas import policies
from formulas.engine import demo_lines
from formulas.models import ProductLine, Shade
from formulas.services.lines import add_line
from salon.models import Staff


@transaction.atomic
def load_demo_line(
    *,
    name: str,
    by: Staff,
    at: dt.datetime,
    tube_price: Decimal = Decimal("7.20"),
    bottle_price: Decimal = Decimal(0),
    supplier: str = "",
) -> ProductLine:
    """Add one of the engine's invented lines, marked as such, with its shades, no stock."""
    policies.check_can_change_lines(by=by)
    source = demo_lines()[name]
    line = add_line(
        by=by,
        at=at,
        name=source.name,
        kind=source.kind,
        is_starting_point=True,
        supplier=supplier,
        developer_bottle_price=bottle_price,
        developer_ratio=Decimal(str(source.developer_ratio)),
        developer_percent=Decimal(str(source.developer_percent)),
        processing_minutes=int(source.processing_minutes),
        check_minutes=_halves(int(source.processing_minutes)),
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


def _halves(minutes: int) -> list[int]:
    """Return the marks of an invented line: half of its time, and five minutes before."""
    return sorted({mark for mark in (minutes // 2, minutes - 5) if 0 < mark < minutes})
