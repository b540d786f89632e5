"""The copy of another salon's record, as a page here shows it: read, and never counted."""

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from clients.models import (
    AlertKind,
    Answer,
    Client,
    HairWork,
    MoveState,
    Origin,
    ReadingOutcome,
    ReceivedRecord,
    RecordMove,
    Site,
)
from clients.models.alert import alert_words
from clients.people import person
from clients.selectors.desk import may_see_medical
from clients.skin_test.safety import BY_KEY
from consult import zones
from consult.models import ClientWord, Evenness, StepKind
from consult.portability.copies import CopiedMix, CopiedStep, CopiedVisit
from formulas.engine_results import mix_in_words
from salon.linked_salons.links import salons_of_same_owner
from salon.models import Salon, Staff

Rows = Sequence[Mapping[str, Any]]


@dataclass(frozen=True)
class Test:
    """A patch test there: history, for it opens nothing here."""

    applied_at: dt.datetime
    line: str
    site: str
    readings: Sequence[tuple[dt.datetime, str]]


@dataclass(frozen=True)
class Elsewhere:
    """What one salon knew of a client on a day; `earlier` what it had from others itself."""

    salon: str
    made_at: dt.datetime
    agreed: Mapping[str, Any]
    person: Mapping[str, Any]
    alerts: Sequence[tuple[str, str]] = ()
    tests: Sequence[Test] = ()
    answers: Sequence[tuple[dt.datetime, str, str]] = ()
    hair: Sequence[tuple[dt.date, str, str, str]] = ()
    visits: Sequence[CopiedVisit] = ()
    earlier: Sequence["Elsewhere"] = field(default_factory=tuple)


def copies_of(client: Client) -> QuerySet[ReceivedRecord]:
    """Return the copies of a person that are not deleted, latest first."""
    rows = ReceivedRecord.objects.filter(
        client__in=client.entries_of_person, deleted_at__isnull=True
    )
    return rows.select_related("received_by", "move")


def moves_of(client: Client) -> QuerySet[RecordMove]:
    """Return the copies of a person's record that other salons were to have, latest first."""
    rows = RecordMove.objects.filter(client__in=person.ids_of(client))
    return rows.select_related("to_salon", "consent", "recorded_by", "received")


def moves_to_receive(salon: Salon) -> list[RecordMove]:
    """Return the records that wait for a salon to receive them, oldest first.

    None of a salon that is no longer the same owner's, or of a client whose record is shut.
    """
    rows = RecordMove.objects.filter(to_salon=salon, state=MoveState.WAITING, client__shut="")
    rows = rows.select_related("salon", "client__merged_into", "consent")
    waiting = list(rows.order_by("signed_at", "pk"))
    ours = salons_of_same_owner(salon) if waiting else []
    return [move for move in waiting if move.salon in ours]


def withdrawn_copies(salon: Salon) -> QuerySet[ReceivedRecord]:
    """Return the copies that their clients no longer agree to, and that are still here."""
    rows = ReceivedRecord.objects.filter(
        salon=salon, deleted_at__isnull=True, move__withdrawn_at__isnull=False
    )
    return rows.select_related("client__merged_into", "move")


def move_behind(record: ReceivedRecord) -> RecordMove | None:
    """Return what the client agreed to in the other salon; None after a move of the house."""
    return RecordMove.objects.filter(received=record).first()


def read(content: Mapping[str, Any], viewer: Staff) -> Elsewhere:
    """Return what a copy holds, medical notes without words for who may not read them."""
    people: Rows = content.get("client", ())
    return Elsewhere(
        salon=content["salon"],
        made_at=dt.datetime.fromisoformat(content["made_at"]),
        agreed=content.get("agreed", {}),
        person=people[0] if people else {},
        alerts=list(_alerts(content.get("clientalert", ()), viewer)),
        tests=list(_tests(content)),
        answers=list(_answers(content.get("safetyanswer", ()))),
        hair=list(_hair(content.get("hairhistoryentry", ()))),
        visits=content.get("colour_visits", ()),
        earlier=[
            read(row["content"], viewer)
            for row in content.get("receivedrecord", ())
            if row["content"]
        ],
    )


def step_words(step: CopiedStep) -> str:
    """Say what was done before the toner: "Lightening, roots: Cloud, 20 min"."""
    kind = str(StepKind(step["kind"]).label)
    parts = [f"{kind[:1].upper()}{kind[1:]}, {zones.words(step['zones'])}: {step['product']}"]
    if step["strength_percent"]:
        parts.append(_("%(percent)s %% on the hair") % {"percent": step["strength_percent"]})
    if step["minutes"] is not None:
        parts.append(_("%(n)s min") % {"n": step["minutes"]})
    return ", ".join(parts) + (f". {step['note']}" if step["note"] else "")


def mix_words(mix: CopiedMix) -> str:
    """Say what was mixed: "2 parts 8 natural, 1 part 8 violet-blue"."""
    return mix_in_words([(name, float(part)) for name, part in mix["parts"]])


def word_of_client(code: str) -> str:
    """Return what the client said of a result, in words."""
    return str(ClientWord(code).label) if code else ""


def evenness_words(code: str) -> str:
    """Return how even a result was, in words."""
    return str(Evenness(code).label) if code else ""


def _alerts(rows: Rows, viewer: Staff) -> Iterator[tuple[str, str]]:
    lifted = {row["lifts"] for row in rows}
    for row in rows:
        if row["id"] in lifted or row["lifts"]:
            continue
        words = row["text"] or alert_words(row["code"], row["details"])
        if row["kind"] == AlertKind.MEDICAL and not may_see_medical(viewer):
            words = _("Ask a stylist or an owner before colour: only they can read it.")
        yield str(AlertKind(row["kind"]).label), words


def _tests(content: Mapping[str, Any]) -> Iterator[Test]:
    readings: Rows = content.get("patchtestreading", ())
    for row in sorted(content.get("patchtest", ()), key=_applied_at, reverse=True):
        yield Test(
            applied_at=dt.datetime.fromisoformat(row["applied_at"]),
            line=row["line"],
            site=str(Site(row["site"]).label),
            readings=[_reading(one) for one in readings if one["test"] == row["id"]],
        )


def _reading(row: Mapping[str, Any]) -> tuple[dt.datetime, str]:
    outcome = str(ReadingOutcome(row["outcome"]).label)
    words = f"{outcome}: {row['signs']}" if row["signs"] else outcome
    return dt.datetime.fromisoformat(row["read_at"]), words


def _applied_at(row: Mapping[str, Any]) -> str:
    return str(row["applied_at"])


def _answers(rows: Rows) -> Iterator[tuple[dt.datetime, str, str]]:
    """Yield the last answer to each question that this release knows, those with a yes."""
    last = {row["question"]: row for row in sorted(rows, key=lambda row: row["answered_at"])}
    for key, row in last.items():
        if key in BY_KEY and row["answer"] == Answer.YES:
            when = dt.datetime.fromisoformat(row["answered_at"])
            yield when, str(BY_KEY[key].text), row["note"]


def _hair(rows: Rows) -> Iterator[tuple[dt.date, str, str, str]]:
    withdrawn = {row["withdraws"] for row in rows}
    for row in sorted(rows, key=lambda row: row["happened_date"], reverse=True):
        if row["id"] in withdrawn or row["withdraws"]:
            continue
        day = dt.date.fromisoformat(row["happened_date"])
        yield (
            day,
            str(HairWork(row["work"]).label),
            str(Origin(row["origin"]).label),
            row["note"],
        )
