"""Reads across visits: the day's clients, what was promised and came out, who drifts."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Max, Prefetch, QuerySet

from clients.models import Appointment, Client
from clients.people import person
from clients.selectors import day_appointments, states_of
from clients.skin_test.state import PatchState
from consult import selectors
from consult.models import (
    BowlLine,
    BowlMixed,
    Choice,
    ChosenPlace,
    Formula,
    FormulaLine,
    ResultSeen,
    Visit,
    VisitStep,
)
from salon.models import Salon, Staff


@dataclass(frozen=True)
class ToldGroup:
    """One group of zones of a visit: what was promised, mixed and seen."""

    zones: str
    place: ChosenPlace
    formula: Formula | None
    bowl: BowlMixed | None
    result: ResultSeen | None

    @property
    def promised(self) -> dict[str, Any]:
        """What was signed."""
        return dict(self.place.predicted)

    @property
    def predicted(self) -> dict[str, Any]:
        """What the result is compared with: the bowl as poured, for as long as it was on.

        Early results kept none: then what the formula said, else what was signed.
        """
        if self.result and self.result.predicted:
            return dict(self.result.predicted)
        if self.formula and self.zones in self.formula.predicted:
            return dict(self.formula.predicted[self.zones])
        return dict(self.place.predicted)

    @property
    def level_drift(self) -> float | None:
        """Levels by which the result is lighter (positive) than predicted."""
        if self.result is None or self.result.level is None:
            return None
        return float(self.result.level) - float(self.predicted["level"]["value"])

    @property
    def warmth_drift(self) -> float | None:
        """Warmth, in percent, that the result shows more (positive) than predicted."""
        if self.result is None or self.result.warmth_left_percent is None:
            return None
        return self.result.warmth_left_percent - float(
            self.predicted["warmth_left_percent"]["value"]
        )

    @property
    def within_range(self) -> bool:
        """Whether warmth and level were both seen within their predicted ranges.

        Levels are read in half steps: a quarter either way cannot be told.
        """
        if self.level_drift is None or self.warmth_drift is None:
            return False
        warmth, level = self.predicted["warmth_left_percent"], self.predicted["level"]
        return (
            warmth["low"] - 5 <= warmth["value"] + self.warmth_drift <= warmth["high"] + 5
            and level["low"] - 0.25 <= level["value"] + self.level_drift <= level["high"] + 0.25
        )

    @property
    def minutes(self) -> int | None:
        """How long the bowl was on the hair."""
        if self.bowl is None:
            return None
        return self.bowl.minutes_on(self.zones)


@dataclass(frozen=True)
class ToldVisit:
    """A visit with its groups, as a history shows it."""

    visit: Visit
    groups: list[ToldGroup]

    @property
    def steps(self) -> list[VisitStep]:
        """What was done before the toner, as it stands."""
        rows = list(self.visit.steps.all())
        gone = {row.replaces_id for row in rows}
        return [row for row in rows if row.pk not in gone and not row.is_taken_back]


def told(visits: Any) -> list[ToldVisit]:
    """Return visits with all that a history shows, in a fixed number of queries."""
    rows = visits.select_related("stylist", "line", "client", "corrects").prefetch_related(
        Prefetch("choices", Choice.objects.order_by("-number").prefetch_related("places")),
        Prefetch(
            "formulas",
            Formula.objects.order_by("-pk").prefetch_related(
                Prefetch("lines", FormulaLine.objects.select_related("shade"))
            ),
        ),
        Prefetch(
            "bowls",
            BowlMixed.objects.order_by("-number").prefetch_related(
                "marks", "checks", Prefetch("lines", BowlLine.objects.select_related("shade"))
            ),
        ),
        Prefetch("results", ResultSeen.objects.filter(is_looked_at=True).order_by("-pk")),
        Prefetch("steps", VisitStep.objects.select_related("recorded_by")),
        "corrections",
    )
    return [ToldVisit(visit, _groups(visit)) for visit in rows]


def _groups(visit: Visit) -> list[ToldGroup]:
    choice = next(iter(visit.choices.all()), None)
    if choice is None:
        return []
    formulas = selectors.latest_of(visit.formulas.all())
    bowls, results = list(visit.bowls.all()), list(visit.results.all())
    groups = []
    for place in choice.places.all():
        members = set(place.zones.split(","))
        formula = next((f for f in formulas if members <= set(f.zones.split(","))), None)
        bowl = next((b for b in bowls if formula and b.formula_id == formula.pk), None)
        result = next((r for r in results if r.zones == place.zones), None)
        groups.append(ToldGroup(place.zones, place, formula, bowl, result))
    return groups


def last_visits(client: Client, *, before: dt.datetime, count: int = 3) -> list[ToldVisit]:
    """Return a client's last closed visits, latest first."""
    return told(Visit.objects.of_person(client).closed().filter(opened_at__lt=before)[:count])


def tones_of(client: Client) -> QuerySet[Visit]:
    """Return every toning visit of a client, latest first; `told` fills them."""
    return Visit.objects.of_person(client).closed()


@dataclass(frozen=True)
class Seat:
    """One of today's appointments with the patch state and the visit that goes with it."""

    appointment: Appointment
    state: PatchState | None
    visit: Visit | None


def todays_seats(
    *, salon: Salon, stylist: Staff | None, day: dt.date, at: dt.datetime
) -> list[Seat]:
    """Return the day's colour and other appointments of one stylist, or of everyone."""
    booked = [
        one
        for one in day_appointments(salon=salon, day=day)
        if stylist is None or one.stylist_id == stylist.pk
    ]
    states = states_of(booked, at=at)
    visits: dict[int, Visit] = {}
    for visit in Visit.objects.filter(appointment__in=booked).with_latest().order_by("pk"):
        visits[visit.appointment_id] = visit
    return [Seat(one, states.get(one.pk), visits.get(one.pk)) for one in booked]


def unfinished(*, salon: Salon, before: dt.datetime) -> QuerySet[Visit]:
    """Return visits of earlier days that were never closed."""
    return (
        Visit.objects.for_salon(salon)
        .open()
        .filter(opened_at__lt=before)
        .for_show()
        .with_latest()
    )


@dataclass(frozen=True)
class ClientHistory:
    """How a client's tones came out, in one line."""

    client: Client
    count: int
    last_at: dt.datetime
    redone: int
    level_drift: float | None
    warmth_drift: float | None
    within: int
    seen: int


def toned_people(*, salon: Salon) -> QuerySet:
    """Return the ids of people with closed visits as `person`, the latest first."""
    return (
        Visit.objects.for_salon(salon)
        .closed()
        .values(person=person.id_through("client"))
        .annotate(last_closed_at=Max("closed_at"))
        .order_by("-last_closed_at", "person")
    )


def client_histories(people: Sequence[int]) -> list[ClientHistory]:
    """Return one line for each person, in the order given."""
    clients = Client.objects.in_bulk(people)
    visits = Visit.objects.closed().filter(person.named_by("client", people))
    by_person: dict[int, list[ToldVisit]] = defaultdict(list)
    for one in told(visits):
        by_person[person.root_id(one.visit.client)].append(one)
    return [_history(clients[own_id], by_person[own_id]) for own_id in people]


def _history(client: Client, visits: list[ToldVisit]) -> ClientHistory:
    seen = [g for one in visits for g in one.groups if g.result is not None]
    return ClientHistory(
        client=client,
        count=len(visits),
        last_at=visits[0].visit.opened_at,
        redone=sum(one.visit.corrects_id is not None for one in visits),
        level_drift=_mean(g.level_drift for g in seen),
        warmth_drift=_mean(g.warmth_drift for g in seen),
        within=sum(g.within_range for g in seen),
        seen=len(seen),
    )


def _mean(values: Iterable[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return sum(known) / len(known) if known else None


def told_one(visit: Visit) -> ToldVisit:
    """Return one visit with its groups."""
    return told(Visit.objects.filter(pk=visit.pk))[0]
