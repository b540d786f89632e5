"""What became of each bowl, and which zones it touched."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from consult import zones
from consult.models import (
    BowlMixed,
    Choice,
    ChosenPlace,
    Formula,
    MarkKind,
    ResultSeen,
    Seen,
)

UNDO_FOR = dt.timedelta(minutes=1)


@dataclass(frozen=True)
class BowlState:
    """A bowl as weighed, with its times.

    `is_current` says whether its formula still is the one in force.
    """

    bowl: BowlMixed
    started_at: dt.datetime | None
    ended_at: dt.datetime | None
    rinsed_early: frozenset[str]
    is_current: bool = False

    @property
    def formula(self) -> Formula:
        """The revision that it was weighed by."""
        return self.bowl.formula

    @property
    def is_running(self) -> bool:
        """Whether its colour is on the hair."""
        return self.started_at is not None and self.ended_at is None

    @property
    def was_on(self) -> bool:
        """Whether it was ever on the hair."""
        return self.started_at is not None

    @property
    def is_rinsed(self) -> bool:
        """Whether it was on the hair and was rinsed."""
        return self.ended_at is not None

    @property
    def zones(self) -> frozenset[str]:
        """Every zone that it serves."""
        return frozenset(zones.Group(self.formula.zones).members)

    def minutes_on(self, key: str) -> int | None:
        """Return how long it was on some zones, which may be rinsed before the others."""
        return self.bowl.minutes_on(key)

    @property
    def zones_on(self) -> frozenset[str]:
        """The zones that have its colour on now."""
        return self.zones - self.rinsed_early if self.is_running else frozenset()


def state_of(bowl: BowlMixed, *, current: Iterable[int] = ()) -> BowlState:
    """Return a bowl's state, from its marks and checks; `current` are formulas in force."""
    marks = {mark.kind: mark.marked_at for mark in bowl.marks.all()}
    early = {
        zone
        for check in bowl.checks.all()
        if check.seen == Seen.RINSED
        for zone in zones.Group(check.zones).members
    }
    return BowlState(
        bowl=bowl,
        started_at=marks.get(MarkKind.START),
        ended_at=marks.get(MarkKind.END),
        rinsed_early=frozenset(early),
        is_current=bowl.formula_id in set(current),
    )


def minutes_counted(taken: int | None, *, planned: int) -> int:
    """Return the minutes that count: those taken, at least one; the planned where unknown."""
    return min(max(planned if taken is None else taken, 1), 90)


@dataclass(frozen=True)
class TonedGroup:
    """Zones that the very same bowls touched, in the order in which they went on.

    `place` is what was signed for the last of them, `result` the latest look at these zones;
    `is_result_current` is False where another bowl went on after it.
    """

    zones: str
    bowls: tuple[BowlState, ...]
    place: ChosenPlace
    result: ResultSeen | None
    is_result_current: bool

    @property
    def formula(self) -> Formula:
        """The revision of the last bowl."""
        return self.bowls[-1].formula

    @property
    def is_running(self) -> bool:
        """Whether colour is on some of it now."""
        return any(bowl.zones_on & set(zones.Group(self.zones).members) for bowl in self.bowls)


def toned_groups(
    bowls: Sequence[BowlState], choices: Iterable[Choice], results: Sequence[ResultSeen]
) -> list[TonedGroup]:
    """Return the zones that had colour on, grouped by what touched them; roots first.

    `results` come oldest first; a choice knows its places and its sign-off.
    """
    signed = {
        choice.sign_off.pk: list(choice.places.all())
        for choice in choices
        if getattr(choice, "sign_off", None)
    }
    applied = sorted(
        (bowl for bowl in bowls if bowl.started_at),
        key=lambda bowl: (bowl.started_at, bowl.bowl.number),
    )
    grouped: dict[tuple[object, ...], list[str]] = {}
    found: dict[tuple[object, ...], TonedGroup] = {}
    for zone in zones.IN_ORDER:
        on = tuple(bowl for bowl in applied if zone in bowl.zones)
        if not on:
            continue
        places = signed[on[-1].formula.sign_off_id]
        place = next(p for p in places if zone in zones.Group(p.zones).members)
        seen = [row for row in results if zone in zones.Group(row.zones).members]
        result = seen[-1] if seen else None
        key = (
            tuple(bowl.bowl.pk for bowl in on),
            place.pk,
            result and result.pk,
        )
        grouped.setdefault(key, []).append(zone)
        last = on[-1].started_at
        fresh = bool(result and last and result.seen_at >= last)
        found[key] = TonedGroup(zones.Group.of(grouped[key]), on, place, result, fresh)
    return list(found.values())
