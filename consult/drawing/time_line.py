"""What a picture through time is drawn from."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Mark:
    """One number of one visit: promised, its likely range that day, what was seen."""

    promised: float
    low: float
    high: float
    seen: float | None = None
    is_within: bool = True
    # (days after the visit, value): how it is expected to fade.
    fading: Sequence[tuple[float, float]] = ()


@dataclass(frozen=True)
class Moment:
    """One visit: where a press leads, its colours and its numbers."""

    day: dt.date
    href: str
    title: str
    start_hex: str
    promised_hex: str
    seen_hex: str
    depth: Mark
    warmth: Mark
    corrects: int | None = None  # the place of the visit that it redoes


@dataclass(frozen=True)
class Line:
    """A run that was found: a straight line between two visits' places."""

    first: int
    last: int
    at_first: float
    at_last: float


@dataclass(frozen=True)
class Picture:
    """Everything that is drawn, oldest first."""

    key: str
    title: str
    moments: Sequence[Moment]
    due: dt.date | None = None
    depth_runs: Sequence[Line] = ()
    warmth_runs: Sequence[Line] = ()
    until: dt.date | None = None  # the axis goes on to here: today
    shows_percent: bool = True  # not of hair that shows little warmth
