"""Results of one line as arrays, one row for each number that was noted."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from formulas.engine.hair.chart import Chart
from formulas.engine.light.grid import Array, Rows
from formulas.engine.prediction.doubts import READINGS, moved_reading
from formulas.engine.toner.lines import Line
from formulas.engine.visits.observing import Batch, Beds, Observed, noted


@dataclass(frozen=True, eq=False)
class Table:
    """Results, rows over the numbers noted.

    Attributes
    ----------
    results : sequence of n Observed
    batch : Batch
    moved : sequence of Batch
        The same with one reading of the zone (`doubts.READINGS`) moved by its doubt.
    noted : (rows,) float array
    owner : (rows,) int array
        Which result a row belongs to.
    channel : (rows,) int array
        0 level, 1 warmth, 2 cast.
    kind : (rows,) int array
        Numbers kinds of reading: by eye 0, 1; measured 2, 3, 4.
    client : (n,) int array
        Numbers the clients in `names`.
    names : tuple of str
    slope : (rows,) float array
        How the zone's level moves the prediction.
    shared : (rows,) float array
        Variance by which a prediction misses the hair more than it misses what was noted: a
        measured colour's warmth is a share of a start that was only read, so that both err
        together. 0 for readings by eye.
    shades : tuple of m str
    coloured : (m,) bool array
        Which of them carry pigment.
    readers, starters : tuple of str
        Who read results by eye, who read zones.
    """

    results: Sequence[Observed]
    batch: Batch
    moved: Sequence[Batch]
    noted: Array
    owner: Rows
    channel: Rows
    kind: Rows
    client: Rows
    names: tuple[str, ...]
    slope: Array
    shared: Array
    shades: tuple[str, ...]
    coloured: Any
    readers: tuple[str, ...]
    starters: tuple[str, ...]

    @property
    def clients(self) -> int:
        """How many clients there are."""
        return len(self.names)


def tabulated(line: Line, results: Sequence[Observed], chart: Chart) -> Table:
    """Return results as a table, in an order that does not depend on how they were given."""
    beds = Beds(line, chart)
    ordered = sorted(results, key=_order)
    batch = beds.batch(ordered)
    seen = noted(batch, ordered)
    owner, channel = (index.astype(np.int64) for index in np.nonzero(~np.isnan(seen)))
    measured = np.array([result.lab is not None for result in ordered], dtype=bool)
    clients: dict[str, int] = {}
    numbers = [
        # One whose client is not known is a client of its own.
        clients.setdefault(one.client or f"\0{n}", len(clients))
        for n, one in enumerate(ordered)
    ]
    moved = [
        beds.batch(ordered, [moved_reading(result.zone, name)[0] for result in ordered])
        for name in READINGS
    ]
    steps = np.array(
        [moved_reading(result.zone, next(iter(READINGS)))[1] for result in ordered]
    )
    ones = np.ones((len(ordered), 1, len(line.names)))
    apart = np.array([other.predicted(ones)[:, 0] for other in moved])
    apart -= batch.predicted(ones)[:, 0]
    slope = apart[0] / steps[:, None]
    also = np.array([noted(other, ordered) for other in moved]) - seen
    shared = (2.0 * apart * also - also**2).sum(axis=0)
    return Table(
        ordered,
        batch,
        moved,
        seen[owner, channel],
        owner,
        channel,
        channel + 2 * measured[owner],
        np.array(numbers, dtype=np.int64),
        tuple(clients),
        slope[owner, channel],
        shared[owner, channel],
        line.names,
        np.array([not shade.is_clear for shade in line.shades]),
        tuple(
            sorted(
                {result.reader for result in ordered if result.reader and result.lab is None}
            )
        ),
        tuple(sorted({result.zone_reader for result in ordered if result.zone_reader})),
    )


def _order(one: Observed) -> str:
    """Return what results are sorted by: everything but the toner of earlier visits."""
    zone = {name: value for name, value in vars(one.zone).items() if name != "residual"}
    rest = {name: value for name, value in vars(one).items() if name not in ("zone", "parts")}
    return repr((rest, zone, sorted(one.parts.items())))
