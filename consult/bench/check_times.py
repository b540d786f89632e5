"""When to look at a bowl while it processes: the marks of its line, and parts put on last."""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db.models import Exists, OuterRef, Subquery
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from consult import zones
from consult.models import BowlMixed, Formula, MarkKind, ProcessingMark, Seen, Status
from salon.models import Salon, Staff


@dataclass(frozen=True)
class Mark:
    """A moment of the processing time at which the timer calls."""

    minutes: int
    label: str
    is_noted: bool
    zones: str = ""


@dataclass(frozen=True)
class Running:
    """A bowl that is on the hair."""

    bowl: BowlMixed
    started_at: dt.datetime
    marks: list[Mark]

    @property
    def ends_at(self) -> dt.datetime:
        """When its time is up."""
        return self.started_at + dt.timedelta(minutes=self.bowl.formula.processing_minutes)

    @property
    def label(self) -> str:
        """Its number and zones; whose head it is, the page says."""
        return _("Bowl %(number)s: %(zones)s") % {
            "number": self.bowl.number,
            "zones": zones.words(self.bowl.formula.zones),
        }


@dataclass(frozen=True)
class Covered(Running):
    """The same on a locked screen, where anyone reads it: initials, no name."""

    @property
    def label(self) -> str:
        """Initials, number and zones."""
        names = self.bowl.visit.client.name.split()
        initials = "".join(name[0].upper() + "." for name in (names[:1] + names[1:][-1:]))
        return f"\u2068{initials}\u2069 {super().label}"


def running(*, salon: Salon, stylist: Staff | None) -> list[Running]:
    """Return the bowls on someone's hair now, of one stylist or of all, the first first."""
    of_bowl = ProcessingMark.objects.filter(bowl=OuterRef("pk"))
    rows = (
        BowlMixed.objects.filter(visit__salon=salon, visit__status=Status.OPEN)
        .filter(Exists(of_bowl.filter(kind=MarkKind.START)))
        .exclude(Exists(of_bowl.filter(kind=MarkKind.END)))
        .select_related("visit__client", "formula__line")
        .prefetch_related("marks", "checks")
        .annotate(begun_at=Subquery(of_bowl.values("marked_at")[:1]))
        .order_by("begun_at")
    )
    if stylist is not None:
        rows = rows.filter(visit__stylist=stylist)
    return [Running(bowl, bowl.marks.all()[0].marked_at, marks_of(bowl)) for bowl in rows]


# So many clocks fit a locked screen above the keys of the PIN.
MOST_ON_A_COVER = 4


def on_a_cover(*, salon: Salon) -> list[Covered]:
    """Return what is on anyone's hair in the salon, the first to end first."""
    found = [
        Covered(bowl_running.bowl, bowl_running.started_at, bowl_running.marks)
        for bowl_running in running(salon=salon, stylist=None)
    ]
    return sorted(found, key=lambda bowl_running: bowl_running.ends_at)[:MOST_ON_A_COVER]


def of_visit(bowls: Iterable[BowlMixed]) -> list[Running]:
    """Return, of a visit's bowls, those on the hair now, the first to end first."""
    found = []
    for bowl in bowls:
        marks = {mark.kind: mark.marked_at for mark in bowl.marks.all()}
        if MarkKind.START in marks and MarkKind.END not in marks:
            found.append(Running(bowl, marks[MarkKind.START], marks_of(bowl)))
    return sorted(found, key=lambda bowl_running: bowl_running.ends_at)


def marks_of(bowl: BowlMixed) -> list[Mark]:
    """Return the marks of a bowl, in order."""
    checks = list(bowl.checks.all())
    noted = {check.mark_minutes for check in checks}
    done = {check.zones for check in checks if check.seen in {Seen.ON, Seen.RINSED}}
    length = bowl.formula.processing_minutes
    checks_due = [
        Mark(minutes, _("Wipe a strand dry and look"), minutes in noted)
        for minutes in bowl.formula.line.check_minutes
        if minutes < length
    ]
    late = [
        Mark(
            length - minutes,
            _("Now apply to the %(zones)s") % {"zones": zones.words(key)},
            key in done,
            zones=key,
        )
        for key, minutes in bowl.formula.zone_minutes.items()
        if minutes < length
    ]
    return sorted([*checks_due, *late], key=lambda mark: (mark.minutes, mark.zones))


def order_of_application(key: str, last: Mapping[str, int]) -> str:
    """Return in which order a bowl goes on: "Roots first; ends for the last 7 minutes."."""
    late = {zone for part in last for zone in zones.Group(part).members}
    first = zones.Group.of(zone for zone in zones.Group(key).members if zone not in late)
    parts = [
        ngettext(
            "%(zones)s for the last %(minutes)s minute",
            "%(zones)s for the last %(minutes)s minutes",
            minutes,
        )
        % {"zones": zones.words(part), "minutes": minutes}
        for part, minutes in sorted(last.items(), key=lambda pair: -pair[1])
    ]
    values = {"first": zones.title(first), "rest": "; ".join(parts)}
    return _("%(first)s first; %(rest)s.") % values


# A rinse is long before time where more than a tenth of it and two minutes were left
# (common practice, no source): less is a strand that was there a little sooner.
_LONG_MINUTES, _LONG_SHARE = 2, 0.1


def is_long_before(formula: Formula, minutes_left: int) -> bool:
    """Return whether a rinse with so many minutes left asks for its reason."""
    return minutes_left > max(_LONG_MINUTES, _LONG_SHARE * formula.processing_minutes)
