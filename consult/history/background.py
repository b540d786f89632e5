"""What a salon's results say as a whole: scatter, and whose results are off."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from consult.history import looks
from consult.history.looks import Look, Scatter
from consult.history.names import lines_and_team
from consult.history.tendencies import Row, Tendencies, tendencies
from salon.models import Salon

# What a salon's tendencies and scatter are read from.
DAYS, MOST_VISITS = 365, 600


@dataclass(frozen=True)
class Background:
    """What a salon's results say as a whole: scatter, tendencies, names for the sentences."""

    scatter: Scatter
    depth: Tendencies
    warmth: Tendencies
    lines: dict[int, str]
    staff: dict[int, str]

    def of(self, number: str) -> Tendencies:
        """Return the tendencies of depth or of warmth."""
        return self.depth if number == "depth" else self.warmth


def of_salon(*, salon: Salon, at: dt.datetime) -> Background:
    """Return what a salon's results of the last year say; four queries."""
    since = at - dt.timedelta(days=DAYS)
    rows = looks.of_salon(salon=salon, since=since, most=MOST_VISITS)
    return of_results(rows, salon=salon)


def of_results(rows: Sequence[Look], *, salon: Salon) -> Background:
    """Return what these results say; two queries, for the names."""
    scatter = looks.scatter_of(rows)
    return Background(
        scatter,
        tendencies(_rows(rows, "deeper"), number="depth", sigma=scatter.depth_read),
        tendencies(_rows(rows, "warmer"), number="warmth", sigma=scatter.warmth_read),
        *lines_and_team(salon),
    )


def _rows(rows: Iterable[Look], error: str) -> list[Row]:
    return [
        Row(getattr(look, error), look.person, look.line, look.stylist)
        for look in looks.once_each(rows)
    ]
