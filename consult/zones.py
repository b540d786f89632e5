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


def join(zones: Iterable[str]) -> str:
    """Return the key of a group: its zones from the scalp outwards, with commas."""
    wanted = set(zones)
    return ",".join(zone for zone in Zone.values if zone in wanted)


def split(key: str) -> tuple[str, ...]:
    """Return the zones of a group's key."""
    return tuple(zone for zone in key.split(",") if zone)


GROUPS: tuple[str, ...] = tuple(
    join(some) for size in (1, 2, 3) for some in combinations(Zone.values, size)
)


def words(key: str) -> str:
    """Say a group in words: "roots", "mid-lengths and ends", "all of the hair"."""
    names = [str(Zone(zone).label) for zone in split(key)]
    if len(names) == len(Zone):
        return _("all of the hair")
    if len(names) == 2:
        return _("%(first)s and %(second)s") % {"first": names[0], "second": names[1]}
    return names[0] if names else ""


def title(key: str) -> str:
    """Say a group in words that stand at the start of a line."""
    text = words(key)
    return text[:1].upper() + text[1:]
