"""A product line with stock on the shelf."""

import datetime as dt
from decimal import Decimal

from formulas import engine
from formulas.models import (
    LineKind,
    MovementReason,
    ProductLine,
    Shade,
    ShelfBalance,
    StockMovement,
)
from salon.models import Salon, Staff

SHADES = (
    "8 natural",
    "8 strong violet-blue",
    "10 slight violet-blue",
    "9 violet",
    "7 violet-blue",
    "clear",
)


def stocked_line(
    salon: Salon, *, by: Staff, at: dt.datetime, name: str = "Tidepool", grams: int = 300
) -> ProductLine:
    """Return a small line with stock on the shelf."""
    line = ProductLine.objects.create(salon=salon, name=name, kind=LineKind.ACIDIC)
    for words in SHADES:
        source = engine.Shade.from_words(words)
        shade = Shade.objects.create(
            line=line,
            name=source.name,
            level=None if source.level is None else Decimal(str(source.level)),
            tones=dict(source.tones),
            neutral=source.neutral,
            tube_price=Decimal("7.20"),
        )
        StockMovement.objects.create(
            salon=salon,
            shade=shade,
            grams=Decimal(grams),
            reason=MovementReason.RECEIVED,
            recorded_at=at,
            recorded_by=by,
        )
        ShelfBalance.objects.create(shade=shade, grams=Decimal(grams))
    return line
