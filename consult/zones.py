"""The zones of a head, and the groups of them that read alike and share a bowl."""

from collections.abc import Iterable
from itertools import combinations

from django.db import models
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy


class Zone(models.TextChoices):
    """A part of the hair, from the scalp outwards."""

    ROOTS = "roots", gettext_lazy("roots")
    MID_LENGTHS = "mid_lengths", gettext_lazy("mid-lengths")
    ENDS = "ends", gettext_lazy("ends")


# Their values from the scalp outwards, made once: `Zone.values` makes them each time.
IN_ORDER: tuple[str, ...] = tuple(Zone.values)


class Group(str):
    """Zones that share a bowl, as one value: equal where their zones are, stored as text."""

    __slots__ = ()

    @classmethod
    def of(cls, zones: Iterable[str]) -> "Group":
        """Return the group of some zones, from the scalp outwards."""
        wanted = set(zones)
        return cls(",".join(zone for zone in IN_ORDER if zone in wanted))

    @classmethod
    def over(cls, groups: Iterable[str]) -> "Group":
        """Return the group that holds every zone of several."""
        return cls.of(zone for group in groups for zone in cls(group).members)

    @property
    def members(self) -> tuple[str, ...]:
        """Its zones, from the scalp outwards."""
        return tuple(zone for zone in self.split(",") if zone)

    @property
    def first(self) -> str:
        """The zone next to the scalp."""
        return self.members[0]

    @property
    def last(self) -> str:
        """The zone farthest from the scalp."""
        return self.members[-1]


GROUPS: tuple[str, ...] = tuple(
    Group.of(some) for size in (1, 2, 3) for some in combinations(Zone.values, size)
)


def words(key: str) -> str:
    """Say a group in words: "roots", "mid-lengths and ends", "all of the hair"."""
    names = [str(Zone(zone).label) for zone in Group(key).members]
    if len(names) == len(Zone):
        return _("all of the hair")
    if len(names) == 2:
        return _("%(first)s and %(second)s") % {"first": names[0], "second": names[1]}
    return names[0] if names else ""


def title(key: str) -> str:
    """Say a group in words for the start of a line."""
    text = words(key)
    return text[:1].upper() + text[1:]
