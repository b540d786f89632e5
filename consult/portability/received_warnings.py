"""What comes with the copy of a record as this salon's own: what warns, never what clears.

Alerts in force, reactions to colour and to patch tests, a client's word of a reaction, and what
was done to the hair. Tests that were clear and other answers are read in the copy only.
"""

import datetime as dt
from collections.abc import Iterator
from typing import TypedDict, cast

from clients.models import (
    AlertCode,
    AlertKind,
    Answer,
    Client,
    ClientAlert,
    HairHistoryEntry,
    PatchTestReading,
    ReadingOutcome,
    ReceivedRecord,
)
from clients.models.alert import FROM_ELSEWHERE, AlertDetails
from clients.models.client import searchable
from clients.people import person
from clients.selectors import alerts_in_force, hair_history, safety_answers_in_force
from clients.services import add_hair_history, raise_alert, remove_alert, withdraw_hair_history
from formulas.models import ProductLine
from salon.models import Staff

# The answer that speaks of a reaction; see `clients.skin_test.safety`.
_EVER = "reaction_ever"
_NOTE = 200  # characters of a note in the hair history


class Brought(TypedDict):
    """An alert as it is to be here."""

    kind: str
    code: str
    details: AlertDetails


class Came(TypedDict):
    """The keys of what came with a copy."""

    alerts: list[int]
    hair_history: list[int]


def bring(giver: Client, record: ReceivedRecord, *, by: Staff, at: dt.datetime) -> Came:
    """Add what warns to a client here, unless the same is in force; return the rows' keys."""
    whose = record.client
    known = [(alert.code, alert.details) for alert in alerts_in_force(client=whose)]
    alerts = [
        raise_alert(
            client=whose,
            kind=found["kind"],
            code=found["code"],
            details=found["details"],
            line=_line_called(found["details"].get("line", ""), by)
            if found["code"] == AlertCode.REACTED_THERE
            else None,
            by=by,
            at=at,
        ).pk
        for found in _warnings(giver)
        if (found["code"], found["details"]) not in known
    ]
    return {"alerts": alerts, "hair_history": list(_hair(giver, record, by, at))}


def withdraw(record: ReceivedRecord, *, by: Staff, at: dt.datetime) -> None:
    """Remove what came with a copy that was joined with the wrong client."""
    alerts = ClientAlert.objects.filter(pk__in=record.alerts, lifted_by__isnull=True)
    for alert in alerts.select_related("client"):
        remove_alert(alert=alert, code=AlertCode.WRONG_CLIENT, is_mistake=True, by=by, at=at)
    entries = HairHistoryEntry.objects.filter(
        pk__in=record.hair_history, withdrawn_by__isnull=True
    )
    for entry in entries.select_related("client__salon"):
        withdraw_hair_history(entry=entry, note=record.from_salon[:_NOTE], by=by, at=at)


def _warnings(giver: Client) -> Iterator[Brought]:
    """Yield every warning about a client once, reactions with the line that caused them."""
    salon = giver.salon.name
    seen = []
    for found in (
        *_of_tests(giver, salon),
        *_of_alerts(giver, salon),
        *_of_answers(giver, salon),
    ):
        if found not in seen:
            seen.append(found)
            yield found


def _of_alerts(giver: Client, salon: str) -> Iterator[Brought]:
    for alert in alerts_in_force(client=giver):
        details = cast(AlertDetails, dict(alert.details))
        if alert.code in FROM_ELSEWHERE:  # it came there from a third salon
            yield {"kind": alert.kind, "code": alert.code, "details": details}
            continue
        if alert.code == AlertCode.PATCH_REACTION:
            continue  # its reading tells of it, whether the alert was removed or not
        code = AlertCode.REACTED_THERE if alert.line_id else AlertCode.ELSEWHERE
        there = details.copy()
        there["salon"], there["code"] = salon, alert.code
        if alert.text:
            there["note"] = alert.text
        yield {"kind": alert.kind, "code": code, "details": there}


def _of_tests(giver: Client, salon: str) -> Iterator[Brought]:
    readings = PatchTestReading.objects.filter(
        test__client__in=person.ids_of(giver), outcome=ReadingOutcome.REACTION
    )
    for name in dict.fromkeys(
        readings.order_by("pk").values_list("test__line__name", flat=True)
    ):
        yield {
            "kind": AlertKind.REACTION,
            "code": AlertCode.REACTED_THERE,
            "details": {"salon": salon, "code": AlertCode.PATCH_REACTION.value, "line": name},
        }


def _of_answers(giver: Client, salon: str) -> Iterator[Brought]:
    answer = safety_answers_in_force(client=giver).get(_EVER)
    if answer is not None and answer.answer == Answer.YES:
        yield {
            "kind": AlertKind.REACTION,
            "code": AlertCode.ELSEWHERE,
            "details": {"salon": salon, "code": AlertCode.REPORTED.value},
        }


def _line_called(name: str, by: Staff) -> ProductLine | None:
    """Return the line of the actor's salon of that name, in use or not."""
    wanted = searchable(name)
    rows = ProductLine.objects.filter(salon=by.salon).order_by("pk")
    return next((line for line in rows if searchable(line.name) == wanted), None)


def _hair(giver: Client, record: ReceivedRecord, by: Staff, at: dt.datetime) -> Iterator[int]:
    """Add what was done to the hair, unless it is known here; yield the rows' keys."""
    known = {
        (entry.work, entry.happened_date)
        for entry in hair_history(client=record.client, at=at, everything=True)
    }
    today = at.astimezone(by.salon.zone).date()
    for entry in hair_history(client=giver, at=at, everything=True):
        day = min(entry.happened_date, today)
        if (entry.work, day) in known:
            continue
        known.add((entry.work, day))
        note = f"{record.from_salon}: {entry.note}" if entry.note else record.from_salon
        yield add_hair_history(
            client=record.client,
            work=entry.work,
            origin=entry.origin,
            happened_date=day,
            note=note[:_NOTE],
            by=by,
            at=at,
        ).pk
