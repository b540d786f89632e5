"""When to look at a bowl while it processes: the line's own marks, and parts rinsed early."""

import datetime as dt
from dataclasses import dataclass

from django.utils.translation import gettext as _

from consult import zones
from consult.models import BowlMixed, MarkKind, Seen
from salon.models import Salon, Staff


@dataclass(frozen=True)
class Mark:
    """A moment of the processing time at which the timer calls."""

    minutes: int
    words: str
    is_noted: bool
    zones: str = ""


@dataclass(frozen=True)
class Running:
    """A bowl that is on the hair."""

    bowl: BowlMixed
    started_at: dt.datetime
    marks: list[Mark]


def running(*, salon: Salon, stylist: Staff | None) -> list[Running]:
    """Return the bowls on someone's hair now, of one stylist or of all, the first first."""
    rows = (
        BowlMixed.objects.filter(visit__salon=salon, visit__closed_at__isnull=True)
        .filter(marks__kind=MarkKind.START)
        .exclude(marks__kind=MarkKind.END)
        .select_related("visit__client", "formula__line")
        .prefetch_related("marks", "checks")
        .order_by("marks__marked_at")
    )
    if stylist is not None:
        rows = rows.filter(visit__stylist=stylist)
    return [Running(bowl, bowl.marks.all()[0].marked_at, marks_of(bowl)) for bowl in rows]


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
