"""Long tables read in short queries."""

from collections.abc import Iterator, Sequence
from functools import partial
from typing import TypeVar

from django.db.models import Model, QuerySet

from salon.replica import from_replica

M = TypeVar("M", bound=Model)
PIECE = 1_000


def numbers(rows: QuerySet[M]) -> list[int]:
    """Return the keys of a query's rows in its order."""
    return list(rows.values_list("pk", flat=True))


def in_pieces(rows: QuerySet[M], size: int = PIECE) -> Iterator[M]:
    """Yield a query's rows in its order, each once, however long that takes.

    The order is read first and the rows by their keys: an open cursor would keep every write
    out of SQLite until the file is done, and pages by name would lose or double who is renamed.
    """
    every = from_replica(lambda: numbers(rows))
    for start in range(0, len(every), size):
        yield from from_replica(partial(_piece, rows, every[start : start + size]))


def _piece(rows: QuerySet[M], keys: Sequence[int]) -> list[M]:
    found = rows.order_by().in_bulk(keys)
    return [found[key] for key in keys if key in found]
