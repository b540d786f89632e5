"""How far a file is: the page reads it, and who cancels is heard."""

import time
from collections.abc import Iterable, Iterator
from typing import TypeVar

from django.db.models import QuerySet

from salon.models import FileState, PreparedFile

T = TypeVar("T")
EVERY = 0.5  # seconds


class Ended(Exception):
    """Raised where a file was cancelled, or another worker has it now."""


class Progress:
    """Counts rows; without a file, of one that is given at once, it only counts."""

    def __init__(self, file: PreparedFile | None = None) -> None:
        self.file, self.rows, self._last = file, 0, time.monotonic()

    def over(self, rows: Iterable[T]) -> Iterator[T]:
        """Yield rows, counting each once it is written."""
        for row in rows:
            yield row
            self.add()

    def add(self, rows: int = 1) -> None:
        """Count rows; now and then say so.

        Raises
        ------
        Ended
            If it was cancelled, or begun again by another turn.
        """
        self.rows += rows
        if self.file and time.monotonic() - self._last >= EVERY:
            self.say()

    def say(self) -> None:
        """Write down how far it is."""
        self._last = time.monotonic()
        if self.file and not mine(self.file).update(rows_done=self.rows):
            raise Ended


def mine(file: PreparedFile) -> QuerySet[PreparedFile]:
    """Return a file's row as long as this turn of it goes on."""
    return PreparedFile.objects.filter(pk=file.pk, state=FileState.RUNNING, turn=file.turn)
