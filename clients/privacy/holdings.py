"""What apps hold about a person: what a claim may need, and what can be blanked.

Each app enters its own, so that the front desk need not know who is above it.
"""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Evidence:
    """Records of one kind that have to stay while a claim may come."""

    what: str
    count: int
    last_at: dt.datetime


Ids = list[int]
_evidence: list[Callable[[Ids], list[Evidence]]] = []
_blanks: list[Callable[[Ids], None]] = []


def add(*, evidence: Callable[[Ids], list[Evidence]], blank: Callable[[Ids], None]) -> None:
    """Enter what an app holds of entries of the register, and how it forgets the rest."""
    _evidence.append(evidence)
    _blanks.append(blank)


def evidence_of(ids: Ids) -> list[Evidence]:
    """Return what has to stay of a person, by their entries."""
    return [evidence for find in _evidence for evidence in find(ids) if evidence.count]


def blank(ids: Ids) -> None:
    """Overwrite whatever of a person is in rows that may change."""
    for forget in _blanks:
        forget(ids)
