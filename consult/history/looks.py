"""Results beside their predictions, one for each zone: what runs and tendencies are found in.

Read as plain values: an owner's page looks at thousands of them.
"""

import datetime as dt
import json
from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from django.db.models import Exists, OuterRef, QuerySet, TextField
from django.db.models.functions import Cast

from clients.models import Client
from clients.people import person
from consult import zones
from consult.history import control
from consult.history.compared import plain_by_visit
from consult.models import Reaction, Visit
from salon.models import Salon
from salon.reading_once import read_once, remembered

# So many of a client's visits are looked back at; older toner and habits say little.
MOST_OF_A_CLIENT = 30
_ZONES = tuple(zones.Zone.values)
# Visits or people that one query names.
_PIECE = 5000


class Range(NamedTuple):
    """A prediction with the range that it was given that day."""

    value: float
    low: float
    high: float

    def distance(self, off: float) -> float:
        """Return `off`, a difference from the value, in standard deviations of this range.

        About 19 in 20 lie within its ends, which may lie unlike far on both sides.
        """
        side = (self.high - self.value) if off > 0 else (self.value - self.low)
        return 1.96 * abs(off) / side if side > 0 else 0.0


class Look(NamedTuple):
    """What one zone showed at one visit, beside what its bowl was predicted to give."""

    result: int
    visit: int
    at: dt.datetime
    zone: str
    person: int
    stylist: int
    reader: int
    line: int
    level: float
    warmth: float
    predicted_level: Range
    predicted_warmth: Range
    shades: tuple[str, ...]
    # From one strand to the next that it was held against: levels, points of warmth.
    depth_step: float = control.DEPTH.step
    warmth_step: float = control.WARMTH.step

    @property
    def deeper(self) -> float:
        """Levels by which it is deeper (positive) than predicted."""
        return self.predicted_level.value - self.level

    @property
    def warmer(self) -> float:
        """Points by which it is warmer (positive) than predicted."""
        return self.warmth - self.predicted_warmth.value

    @property
    def depth_error(self) -> float:
        """Levels deeper than predicted beyond what the eye's step leaves open."""
        return control.beyond_step(self.deeper, self.depth_step)

    @property
    def warmth_error(self) -> float:
        """Points warmer than predicted beyond what the eye's step leaves open."""
        return control.beyond_step(self.warmer, self.warmth_step)

    def distance(self, number: str) -> float:
        """Return how far "depth" or "warmth" lies off, in its prediction's own doubt."""
        if number == "depth":
            return self.predicted_level.distance(-self.depth_error)
        return self.predicted_warmth.distance(self.warmth_error)


class VisitRow(NamedTuple):
    """A visit with the looks at it, and what the next one read as `next_readings` keeps it."""

    person: int
    at: dt.datetime
    looks: tuple[Look, ...]
    faded: list[Any] | None


@dataclass(frozen=True)
class Series:
    """The looks at zones of one person that were always seen together, oldest first."""

    zones: str
    looks: tuple[Look, ...]

    @property
    def depth_errors(self) -> list[float]:
        """Of each look."""
        return [look.depth_error for look in self.looks]

    @property
    def warmth_errors(self) -> list[float]:
        """Of each look."""
        return [look.warmth_error for look in self.looks]


@dataclass(frozen=True)
class Scatter:
    """The standard deviation of one result in a salon: levels, and points of warmth.

    `depth` and `warmth` are of errors beyond the eye's step, `*_read` of readings as they are.
    """

    depth: float
    warmth: float
    depth_read: float
    warmth_read: float


def of_client(client: Client) -> list[Look]:
    """Return the looks at a client's latest visits, oldest first; two queries."""
    visits = Visit.objects.of_person(client).closed().order_by("-opened_at", "-pk")
    return of_visits(visits[:MOST_OF_A_CLIENT])


def of_people(people: Collection[int]) -> list[Look]:
    """Return the looks at each person's latest visits, oldest first; a few queries."""
    latest = [own[-MOST_OF_A_CLIENT:] for own in visits_by_person(people).values()]
    return of_visits(pk for own in latest for pk in own)


def visits_by_person(people: Collection[int]) -> dict[int, list[int]]:
    """Return the closed visits of people by person, oldest first."""
    found: dict[int, list[int]] = defaultdict(list)
    ids = list(people)
    for start in range(0, len(ids), _PIECE):
        visits = Visit.objects.closed().filter(
            person.named_by("client", ids[start : start + _PIECE])
        )
        rows = visits.annotate(person=person.id_through("client"))
        for pk, own in rows.order_by("opened_at", "pk").values_list("pk", "person"):
            found[own].append(pk)
    return dict(found)


@read_once
def of_salon(
    *, salon: Salon, since: dt.datetime, until: dt.datetime | None = None, most: int = 2000
) -> list[Look]:
    """Return the looks at a salon's latest visits of a time, oldest first; two queries."""
    visits = Visit.objects.for_salon(salon).closed().filter(opened_at__gte=since)
    if until is not None:
        visits = visits.filter(opened_at__lt=until)
    return of_visits(visits.order_by("-opened_at", "-pk")[:most])


def series_of(looks: Iterable[Look]) -> list[Series]:
    """Return one person's looks by zones that were always seen together, roots first."""
    by_zone: dict[str, list[Look]] = defaultdict(list)
    for look in looks:
        by_zone[look.zone].append(look)
    alike: dict[tuple[int, ...], list[str]] = defaultdict(list)
    for zone in zones.IN_ORDER:
        if zone in by_zone:
            alike[tuple(look.result for look in by_zone[zone])].append(zone)
    return [
        Series(",".join(members), tuple(by_zone[members[0]]))  # in the order of the scalp
        for members in alike.values()
    ]


def by_person(looks: Iterable[Look]) -> dict[int, list[Look]]:
    """Return the looks by person."""
    found: dict[int, list[Look]] = defaultdict(list)
    for look in looks:
        found[look.person].append(look)
    return dict(found)


def once_each(looks: Iterable[Look]) -> list[Look]:
    """Return one look for each result, whichever zones it was of."""
    return list({look.result: look for look in looks}.values())


def scatter_of(looks: Iterable[Look]) -> Scatter:
    """Return how results scatter within clients."""
    every = [
        series
        for rows in by_person(looks).values()
        if len({look.result for look in rows}) > 1  # most people of a short time have one
        for series in series_of(rows)
        if len(series.looks) > 1  # a single one has no neighbour to differ from
    ]
    return Scatter(
        control.scatter((series.depth_errors for series in every), control.DEPTH),
        control.scatter((series.warmth_errors for series in every), control.WARMTH),
        control.scatter(([x.deeper for x in s.looks] for s in every), _DEPTH_READ),
        control.scatter(([x.warmer for x in s.looks] for s in every), _WARMTH_READ),
    )


# Of readings as they are, the eye's step in them (as the engine's `hierarchy.REST`).
_DEPTH_READ = control.Scale(step=0.5, usual=0.3, least=0.15)
_WARMTH_READ = control.Scale(step=5.0, usual=9.0, least=3.0)


def of_visits(visits: Iterable[int] | QuerySet[Visit]) -> list[Look]:
    """Return the looks at some visits, oldest first; two queries, more for what is not kept.

    One page asks for several times that overlap: within `reading_once` a visit is read once.
    """
    found = [look for row in rows_of(visits).values() for look in row.looks]
    return sorted(found, key=lambda look: (look.at, look.result))


def rows_of(visits: Iterable[int] | QuerySet[Visit]) -> dict[int, VisitRow]:
    """Return visits with the looks at them, by id in the order given; as `of_visits`."""
    given = visits.values_list("pk", flat=True) if isinstance(visits, QuerySet) else visits
    pks = list(given)
    known: dict[int, VisitRow] = remembered("looks")
    missing = [pk for pk in pks if pk not in known]
    for start in range(0, len(missing), _PIECE):
        known.update(_read(missing[start : start + _PIECE]))
    return {pk: known[pk] for pk in pks}


def _read(pks: Sequence[int]) -> dict[int, VisitRow]:
    """Return visits by their ids; without looks where the colour caused a reaction."""
    rows: list[Any] = list(
        Visit.objects.filter(pk__in=pks)
        .annotate(
            person=person.id_through("client"),
            reacted=Exists(Reaction.objects.filter(visit=OuterRef("pk"))),
            looks_text=Cast("figures__looks", TextField()),
            faded_text=Cast("figures__faded", TextField()),
        )
        .order_by()
        .values_list(
            "pk", "opened_at", "person", "stylist", "line", "reacted", "looks_text",
            "faded_text",
        )
    )  # fmt: skip
    looks, faded = (_parsed(row[column] for row in rows) for column in (6, 7))
    missing = [row[0] for row, kept in zip(rows, looks, strict=True) if kept is None]
    afresh = plain_by_visit(missing)
    return {
        pk: VisitRow(
            own,
            at,
            ()
            if reacted
            else tuple(
                Look(
                    plain[0], pk, at, plain[1], own, stylist, plain[2], line, plain[3],
                    plain[4], Range(*plain[5]), Range(*plain[6]), tuple(plain[7]), plain[8],
                    plain[9],
                )
                for plain in (afresh.get(pk, []) if kept is None else kept)
            ),
            later,
        )
        for (pk, at, own, stylist, line, reacted, *_), kept, later in zip(
            rows, looks, faded, strict=True
        )
    }  # fmt: skip


def _parsed(texts: Iterable[str | None]) -> list[Any]:
    """Return thousands of short JSON texts parsed at once: each alone takes twice as long."""
    found: list[Any] = json.loads(f"[{','.join(text or 'null' for text in texts)}]")
    return found
