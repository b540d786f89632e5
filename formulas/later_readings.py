"""A reading at a later visit beside the result of the toning before it, as plain numbers."""

from functools import lru_cache

from formulas import engine, engine_inputs, selectors
from formulas.engine.visits.fading import read_again
from salon.models import Salon

# Lifted level, undertone, share of white hair in per cent: a zone as it was read.
Read = tuple[float, float, float]


class LaterReadings:
    """Reads zones of one salon again, on its own level chart; one query."""

    def __init__(self, salon: Salon) -> None:
        self.chart = engine_inputs.chart_from(selectors.chart_entries(salon_id=salon.pk))

    def read(self, now: Read, *, then: Read) -> tuple[float, float] | None:
        """Return depth (level) and warmth left (% of what showed before that toning).

        None where little warmth showed.
        """
        return _read(self.chart, now, then)


@lru_cache(maxsize=4096)
def _read(chart: engine.Chart, now: Read, then: Read) -> tuple[float, float] | None:
    return read_again(_zone(now), then=_zone(then), chart=chart)


def _zone(read: Read) -> engine.Zone:
    level, undertone, white = read
    return engine.Zone(level, undertone=undertone, white_percent=white)
