"""Reads the records of one visit from the database, each table once."""

import datetime as dt
from collections.abc import Iterable, Sequence
from typing import TypeVar

from clients.skin_test.gate import colour_gate
from consult import selectors
from consult.models import HairFacts, Reaction, ResultSeen, Visit, VisitEvent, ZoneReading
from consult.visit.facts import VisitFacts, read
from consult.visit.records import Records

Row = TypeVar("Row")


def facts_of(visit: Visit, *, at: dt.datetime) -> VisitFacts:
    """Return what holds, what is due and what is possible in a visit at a moment."""
    return read(records_of(visit, at=at))


def records_of(visit: Visit, *, at: dt.datetime) -> Records:
    """Return the records of a visit. A table is asked only where an event says it has rows."""
    events = list(VisitEvent.objects.filter(visit=visit).order_by("version"))
    kinds = {event.kind for event in events}

    def of(kind: str, rows: Iterable[Row]) -> Sequence[Row]:
        return list(rows) if kind in kinds else ()

    reactions = Reaction.objects.filter(visit=visit).select_related("alert").order_by("pk")
    results = ResultSeen.objects.filter(visit=visit).select_related("seen_by").order_by("pk")
    return Records(
        visit=visit,
        events=events,
        gate=None
        if visit.has_ended
        else colour_gate(
            client=visit.client, line=visit.line, at=at, appointment=visit.appointment
        ),
        readings=of("hair read", ZoneReading.objects.filter(visit=visit).order_by("pk")),
        hair_facts=of("hair read", HairFacts.objects.filter(visit=visit).order_by("pk")),
        steps=selectors.steps_in_force(visit) if "step recorded" in kinds else (),
        pre_tests=selectors.pre_tests_of(visit) if "pre-test recorded" in kinds else (),
        choices=of("place chosen", selectors.choices_of(visit)),
        formulas=of("formula decided", selectors.formulas_of(visit)),
        bowls=selectors.bowls_of(visit) if "bowl mixed" in kinds else (),
        reactions=of("colour reacted", reactions),
        results=of("result seen", results),
    ).joined()
