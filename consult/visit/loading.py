"""Reads the records of one visit from the database, each table once."""

import datetime as dt
from typing import Any

from clients.skin_test.gate import colour_gate
from consult import selectors
from consult.models import HairFacts, Reaction, ResultSeen, Visit, VisitEvent, ZoneReading
from consult.visit.facts import VisitFacts, read
from consult.visit.records import Records


def facts_of(visit: Visit, *, at: dt.datetime) -> VisitFacts:
    """Return what holds, what is due and what is possible in a visit at a moment."""
    return read(records_of(visit, at=at))


def records_of(visit: Visit, *, at: dt.datetime) -> Records:
    """Return the records of a visit. A table is asked only where an event says it has rows."""
    events = list(VisitEvent.objects.filter(visit=visit).order_by("version"))
    kinds = {event.kind for event in events}
    rows: dict[str, Any] = {}
    if not visit.has_ended:
        rows["gate"] = colour_gate(
            client=visit.client, line=visit.line, at=at, appointment=visit.appointment
        )
    if "hair read" in kinds:
        rows["readings"] = list(ZoneReading.objects.filter(visit=visit).order_by("pk"))
        rows["hair_facts"] = list(HairFacts.objects.filter(visit=visit).order_by("pk"))
    if "step recorded" in kinds:
        rows["steps"] = selectors.steps_in_force(visit)
    if "pre-test recorded" in kinds:
        rows["pre_tests"] = selectors.pre_tests_of(visit)
    if "place chosen" in kinds:
        rows["choices"] = list(selectors.choices_of(visit))
    if "formula decided" in kinds:
        rows["formulas"] = list(selectors.formulas_of(visit))
    if "bowl mixed" in kinds:
        rows["bowls"] = selectors.bowls_of(visit)
    if "colour reacted" in kinds:
        rows["reactions"] = list(
            Reaction.objects.filter(visit=visit).select_related("alert").order_by("pk")
        )
    if "result seen" in kinds:
        rows["results"] = list(
            ResultSeen.objects.filter(visit=visit).select_related("seen_by").order_by("pk")
        )
    return Records(visit=visit, events=events, **rows).joined()
