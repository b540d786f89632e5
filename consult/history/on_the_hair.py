"""A bowl as a record names it: on which zones it was, and for how long."""

from collections.abc import Sequence
from dataclasses import dataclass

from consult import zones
from consult.visit.bowls import BowlState


@dataclass(frozen=True)
class OnTheHair:
    """A bowl on a group of zones, with its minutes there.

    `served` names every group that it was on with the minutes there. It is named in full at
    the first of them only: named again, it would be mixed again.
    """

    state: BowlState
    minutes: int | None
    served: Sequence[tuple[str, int | None]]
    is_in_full: bool

    @property
    def is_shared(self) -> bool:
        """Whether one bowl served several groups."""
        return len(self.served) > 1

    @property
    def zones(self) -> str:
        """Every zone that it served, as a group's key."""
        return zones.Group.over(key for key, _minutes in self.served)

    @property
    def first_zones(self) -> str:
        """The group at which it is named in full."""
        return self.served[0][0]
