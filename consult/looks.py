"""When to look at a bowl while it processes: the line's own marks, and parts rinsed early."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from consult import zones
from consult.models import BowlMixed, Seen


@dataclass(frozen=True)
class Mark:
    """A moment of the processing time at which the timer calls."""

    minutes: int
    words: str
    is_noted: bool
    zones: str = ""


def marks_of(bowl: BowlMixed) -> list[Mark]:
    """Return the marks of a bowl, in order."""
    checks = list(bowl.checks.all())
    noted = {check.mark_minutes for check in checks}
    rinsed = {check.zones for check in checks if check.seen == Seen.RINSED}
    length = bowl.formula.processing_minutes
    looks = [
        Mark(minutes, _("Look at a strand, wiped dry"), minutes in noted)
        for minutes in bowl.formula.line.check_minutes
        if minutes < length
    ]
    early = [
        Mark(
            minutes,
            _("Rinse the %(zones)s") % {"zones": zones.words(key)},
            key in rinsed,
            zones=key,
        )
        for key, minutes in bowl.formula.zone_minutes.items()
        if minutes < length
    ]
    return sorted([*looks, *early], key=lambda mark: (mark.minutes, mark.zones))
