"""How a toner leaves the hair by washes."""

import datetime as dt
import math

from formulas import engine
from formulas.models import ProductLine


def washes_since(*, last: dt.datetime, now: dt.datetime, washes_per_week: float = 2.0) -> float:
    """Return how many washes lie between two moments, at two a week unless said otherwise."""
    return max((now - last).days, 0) / 7.0 * washes_per_week


def washes_to_fade(*, line: ProductLine, porosity: float = 0.0, left: float = 0.25) -> float:
    """Return after how many washes only a share of a line's toner is left on such hair."""
    kept = engine.kept(1.0, kind=str(line.kind), porosity=porosity)
    return math.log(left) / math.log(kept)


def toner_left(*, line: ProductLine, washes: float, porosity: float = 0.0) -> float:
    """Return the share of a line's toner that is left on such hair after so many washes."""
    return engine.kept(washes, kind=str(line.kind), porosity=porosity)
