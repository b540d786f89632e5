"""How a time's visits went: signed or not, tested or not, what was chosen, what was redone.

Every figure is a count of visits that `visits_of` can list.
"""

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils.translation import gettext as _

from clients.models import PatchTestReading, ReadingOutcome
from clients.people import person
from consult.history import kept_sums
from consult.history.question import Question
from consult.models import BowlMixed, ChosenPlace, Place, SignOff, Visit
from salon.models import Policy, Salon
from salon.selectors import policy_in_force


class Kind(StrEnum):
    """Which visits a list holds."""

    EVERY = "every"
    REDONE = "redone"
    UNSIGNED = "unsigned"
    OVERRIDE = "override"
    UNTESTED = "untested"
    BRIGHT = "bright"
    BETWEEN = "between"
    COOL = "cool"
    OWN = "own"
    FADED = "faded"
    OUTSIDE = "outside"


@dataclass(frozen=True)
class VisitRow:
    """One visit as a list shows it."""

    pk: int
    person: int
    client: str
    at: dt.datetime
    stylist: str
    line: str
    service: str
    places: frozenset[str]
    is_redone: bool
    is_signed: bool
    is_coloured: bool
    is_tested: bool
    override_reason: str
    override_by: str

    @property
    def kinds(self) -> frozenset[str]:
        """The lists that it belongs to."""
        found = {
            Kind.EVERY: True,
            Kind.REDONE: self.is_redone,
            Kind.UNSIGNED: self.is_coloured and not self.is_signed,
            Kind.OVERRIDE: bool(self.override_by),
            Kind.UNTESTED: not self.is_tested,
        }
        return frozenset(str(kind) for kind, holds in found.items() if holds) | self.places

    @property
    def place_words(self) -> str:
        """What was chosen, in words."""
        return ", ".join(str(Place(place).label) for place in sorted(self.places))


@dataclass(frozen=True)
class Figure:
    """How many visits of how many; `should_be_none` where any one needs a person."""

    kind: str
    label: str
    count: int
    of: int
    should_be_none: bool = False

    @property
    def percent(self) -> float:
        """The share."""
        return 100.0 * self.count / self.of if self.of else 0.0

    @property
    def is_amiss(self) -> bool:
        """Whether there are some where there should be none."""
        return self.should_be_none and self.count > 0


def labels() -> Mapping[str, str]:
    """Return what each list is called."""
    return {
        Kind.EVERY: _("Visits"),
        Kind.UNSIGNED: _("Colour without a sign-off"),
        Kind.OVERRIDE: _("Allowed in writing without a valid patch test"),
        Kind.UNTESTED: _("No clear patch test on record"),
        Kind.REDONE: _("Redone"),
        **{place: str(label) for place, label in Place.choices},
        Kind.OWN: _("another place on the curve"),
        Kind.OUTSIDE: _("A result outside its range"),
        Kind.FADED: _("Read again at the next visit"),
    }


def visits_of(
    visits: QuerySet[Visit], *, salon: Salon, most: int, afresh: bool = False
) -> list[VisitRow]:
    """Return visits as rows, latest first; four queries.

    Whether a visit was tested is as it was kept when it closed; `afresh` asks the records.
    """
    own = OuterRef("pk")
    rows = (
        visits.order_by("-opened_at", "-pk")
        .annotate(
            person=person.id_through("client"),
            is_redone=Exists(Visit.objects.filter(corrects=own)),
            is_signed=Exists(SignOff.objects.filter(visit=own)),
            is_coloured=Exists(BowlMixed.objects.filter(visit=own)),
        )
        .values_list(
            "pk", "person", "client__name", "opened_at", "stylist__display_name",
            "line_id", "line__name", "appointment__service__name", "is_redone", "is_signed",
            "is_coloured", "appointment__patch_override__reason",
            "appointment__patch_override__recorded_by__display_name", "figures__is_tested",
        )[:most]
    )  # fmt: skip
    found = list(rows)
    places = _places([row[0] for row in found])
    unknown = {row[1] for row in found if afresh or row[13] is None}
    clear = _clear_readings(salon, unknown) if unknown else {}
    months = _months_valid(salon)
    return [
        VisitRow(
            pk=row[0], person=row[1], client=row[2], at=row[3], stylist=row[4], line=row[6],
            service=row[7], places=frozenset(places.get(row[0], ())), is_redone=row[8],
            is_signed=row[9], is_coloured=row[10],
            is_tested=_is_tested(clear.get((row[1], row[5]), ()), row[3], months(row[3]))
            if afresh or row[13] is None
            else row[13],
            override_reason=row[11] or "", override_by=row[12] or "",
        )
        for row in found
    ]  # fmt: skip


def figures(counts: "Counts") -> list[Figure]:
    """Return what is watched: signatures, tests, redone visits."""
    known, of, every = labels(), counts.of, counts.of[Kind.EVERY]
    return [
        Figure(Kind.UNSIGNED, known[Kind.UNSIGNED], of[Kind.UNSIGNED], counts.coloured, True),
        Figure(Kind.OVERRIDE, known[Kind.OVERRIDE], of[Kind.OVERRIDE], every, True),
        Figure(Kind.UNTESTED, known[Kind.UNTESTED], of[Kind.UNTESTED], every, True),
        Figure(Kind.REDONE, known[Kind.REDONE], of[Kind.REDONE], every),
    ]


def choices(counts: "Counts") -> list[Figure]:
    """Return how many visits chose each place; a head with two places counts in both."""
    known = labels()
    return [
        Figure(place, known[place], counts.of[place], counts.chosen) for place in Place.values
    ]


@dataclass(frozen=True)
class Counts:
    """How many visits each list holds; how many were coloured, and chose a place at all."""

    of: Counter[str]
    coloured: int
    chosen: int


def counts_of(question: Question) -> Counts:
    """Return how many visits of a time each list would hold; one query, more for unkept.

    Counted by the database from what each visit keeps: a year may hold many thousands.
    """
    count: Counter[str] = Counter()
    coloured = chosen = 0
    for kept in kept_sums.kept(question.whose):
        count[Kind.EVERY] += kept.visits
        count[Kind.UNSIGNED] += kept.unsigned
        count[Kind.UNTESTED] += kept.untested
        count[Kind.REDONE] += kept.redone
        count[Kind.OVERRIDE] += kept.overridden
        count.update(kept.places)
        coloured += kept.coloured
        chosen += kept.chosen
    pks = [row.pk for row in kept_sums.unkept(question.whose)]
    afresh = Visit.objects.filter(pk__in=pks)
    for row in visits_of(afresh, salon=question.salon, most=len(pks)) if pks else ():
        count.update(row.kinds)
        coloured += row.is_coloured
        chosen += bool(row.places)
    return Counts(count, coloured, chosen)


def of_kind(visits: QuerySet[Visit], kind: str, *, salon: Salon) -> QuerySet[Visit]:
    """Return the visits that a list holds; what is not kept is asked of the records."""
    others = visits.filter(figures__isnull=True)
    known = Q(figures__isnull=False) & _conditions()[kind]
    unkept = visits_of(others, salon=salon, most=others.count())
    return visits.filter(known | Q(pk__in=[row.pk for row in unkept if kind in row.kinds]))


def _conditions() -> dict[str, Q]:
    """Return what a visit of each list that has figures fulfils."""
    return {
        Kind.EVERY: Q(),
        Kind.REDONE: Q(figures__is_redone=True),
        Kind.UNSIGNED: Q(figures__bowls__gt=0, figures__is_signed=False),
        Kind.OVERRIDE: Q(figures__is_overridden=True),
        Kind.UNTESTED: Q(figures__is_tested=False),
        **{place: Q(figures__places__contains=place) for place in Place.values},
    }


def _places(visits: Sequence[int]) -> dict[int, set[str]]:
    """Return the places of each visit's latest choice."""
    latest: dict[int, tuple[int, set[str]]] = {}
    rows = ChosenPlace.objects.filter(choice__visit__in=visits).order_by("choice__number")
    for visit, number, place in rows.values_list("choice__visit", "choice__number", "place"):
        if visit not in latest or latest[visit][0] != number:
            latest[visit] = number, set()
        latest[visit][1].add(place)
    return {visit: places for visit, (_number, places) in latest.items()}


def _clear_readings(
    salon: Salon, people: Iterable[int]
) -> dict[tuple[int, int], list[tuple[dt.datetime, dt.datetime]]]:
    """Return (placed, read) of every clear test by person and line."""
    found = defaultdict(list)
    rows = (
        PatchTestReading.objects.filter(
            person.named_by("test__client", list(people)),
            outcome=ReadingOutcome.NO_REACTION,
            test__client__salon=salon,
        )
        .annotate(person=person.id_through("test__client"))
        .values_list("person", "test__line", "applied_at", "read_at")
    )
    for pk, line, placed, read in rows:
        found[pk, line].append((placed, read))
    return found


def _months_valid(salon: Salon) -> Callable[[dt.datetime], int]:
    """Return how long a clear test was valid by the rules of a moment."""
    rules = list(
        Policy.objects.filter(salon=salon)
        .order_by("number")
        .values_list("recorded_at", "patch_valid_months")
    )
    first = rules[0][1] if rules else policy_in_force(salon=salon).patch_valid_months

    def months(at: dt.datetime) -> int:
        return next((valid for since, valid in reversed(rules) if since <= at), first)

    return months


def _is_tested(
    tests: Iterable[tuple[dt.datetime, dt.datetime]], at: dt.datetime, months: int
) -> bool:
    longest = dt.timedelta(days=months * 31)
    return any(read <= at <= placed + longest for placed, read in tests)
