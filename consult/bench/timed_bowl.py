"""A bowl as its clock is shown: times, marks, and by how much it was rinsed early or late."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from consult.bench.check_times import Mark, is_long_before, marks_of
from consult.models import BowlMixed, MarkKind, ProcessingCheck, RinseReason
from consult.visit.bowls import UNDO_FOR


@dataclass(frozen=True)
class TimedBowl:
    """One bowl of the bench; minutes are whole, and None where it was not rinsed yet."""

    bowl: BowlMixed
    started_at: dt.datetime | None
    stopped_at: dt.datetime | None
    minutes: int | None
    reason: RinseReason | None
    marks: Sequence[Mark]
    checks: Sequence[ProcessingCheck]
    is_in_bar: bool
    leftover: Decimal | None = None
    leftover_form: Any = None

    @property
    def _off(self) -> int:
        """Minutes past its time when it was rinsed; below zero where it was early."""
        return (
            0 if self.minutes is None else self.minutes - self.bowl.formula.processing_minutes
        )

    @property
    def early(self) -> int | None:
        """By how many minutes it was rinsed early, if by more than one."""
        return -self._off if self._off < -1 else None

    @property
    def late(self) -> int | None:
        """By how many minutes it was rinsed late, if by more than one."""
        return self._off if self._off > 1 else None

    @property
    def asks_why(self) -> bool:
        """Whether it was rinsed so early that the reason is asked for."""
        return self.minutes is not None and is_long_before(self.bowl.formula, -self._off)

    @property
    def undo_until(self) -> dt.datetime | None:
        """Until when a rinse that was pressed by mistake can be undone."""
        return self.stopped_at + UNDO_FOR if self.stopped_at else None


def timed(bowl: BowlMixed, *, is_in_bar: bool, leftover_form: Any = None) -> TimedBowl:
    """Return a bowl with its times and marks, and what is left in it."""
    marks = {mark.kind: mark for mark in bowl.marks.all()}
    started, ended = marks.get(MarkKind.START), marks.get(MarkKind.END)
    started_at = started.marked_at if started else None
    stopped_at = ended.marked_at if ended else None
    minutes = (
        round((stopped_at - started_at).total_seconds() / 60)
        if started_at and stopped_at
        else None
    )
    return TimedBowl(
        bowl=bowl,
        started_at=started_at,
        stopped_at=stopped_at,
        minutes=minutes,
        reason=getattr(ended, "early_reason", None),
        marks=marks_of(bowl),
        checks=list(bowl.checks.all()),
        is_in_bar=is_in_bar,
        leftover=next((row.grams for row in reversed(bowl.leftovers.all())), None),
        leftover_form=leftover_form,
    )
