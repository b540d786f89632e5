"""A line to begin with: invented, neutral, in plain words, for the salon to replace."""

import datetime as dt
from decimal import Decimal

from django.db import transaction

from formulas import engine
from formulas.models import LineKind, ProductLine, Shade
from formulas.services.lines import add_line
from formulas.services.stock import receive_stock
from salon.models import Staff

# What the usual work of toning asks for: neutral, violet and blue at the levels of lifted hair.
STARTER_SHADES = (
    *(f"{level} {tone}" for level in (6, 7, 8) for tone in ("natural", "blue", "violet-blue")),
    *(f"{level} {tone}" for level in (9, 10) for tone in ("natural", "violet")),
    "10 slight violet-blue",
    "clear",
)


@transaction.atomic
def add_starter_line(
    *, name: str, tubes: int, tube_grams: Decimal, by: Staff, at: dt.datetime
) -> ProductLine:
    """Add the starting point with its shades, and the tubes on the shelf."""
    line = add_line(by=by, at=at, name=name, kind=LineKind.ACIDIC, is_starting_point=True)
    for words in STARTER_SHADES:
        source = engine.Shade.from_words(words)
        shade = Shade(
            line=line,
            name=source.name,
            level=None if source.level is None else Decimal(str(source.level)),
            tones=dict(source.tones),
            neutral=source.neutral,
            tube_grams=tube_grams,
        )
        shade.full_clean()
        shade.save()
        if tubes:
            receive_stock(shade=shade, grams=tube_grams * tubes, by=by, at=at)
    return line
