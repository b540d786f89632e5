"""The copy of a client's record that another salon gets: rows as in the client's own file.

The colour visits come a second time, as this salon's history tells them: what was promised,
predicted, mixed and seen for each part of the hair. The other salon shows that; it has neither
the lines nor the shades to work it out from the rows.
"""

import datetime as dt
from typing import Any, TypedDict

from clients.models import Client, RecordMove
from clients.people import person
from consult.history import histories
from consult.history.on_the_hair import OnTheHair
from consult.history.visit_record import GroupRecord, VisitRecord
from consult.models import Formula, VisitStep
from consult.portability.collect import everything_about
from consult.portability.tables import STAYS, TABLES

FORMAT, VERSION = "salon-colour-record/copy", 1
COPIED = tuple(table for table in TABLES if table.label not in STAYS)
# What of a prediction its words need; see `formulas.snapshots.WarmthLeft`.
_OUTLOOK = ("level", "warmth_left_percent", "start_warmth_percent", "shows_little_warmth")


class CopiedMix(TypedDict):
    """A bowl on a part of the hair: parts of the formula, grams as poured."""

    parts: list[tuple[str, float]]
    poured: list[tuple[str, str]]
    developer_grams: str
    strength_percent: str
    minutes: int | None


class CopiedResult(TypedDict):
    """What the dry hair showed."""

    level: str
    warmth_left_percent: int
    evenness: str
    client_word: str
    note: str


class CopiedPart(TypedDict):
    """A part of the hair in one visit; colours as #rrggbb."""

    zones: str
    before: str
    after: str
    seen: str
    promised: dict[str, Any]
    predicted: dict[str, Any]
    mixes: list[CopiedMix]
    result: CopiedResult | None


class CopiedStep(TypedDict):
    """What was done to the hair before the toner."""

    kind: str
    zones: str
    product: str
    minutes: int | None
    strength_percent: str
    note: str


class CopiedVisit(TypedDict):
    """One colour visit."""

    date: str
    line: str
    stylist: str
    reacted: bool
    parts: list[CopiedPart]
    steps: list[CopiedStep]


def copy_of(move: RecordMove, *, at: dt.datetime) -> dict[str, object]:
    """Return what the other salon gets of a client, as plain data."""
    client = person.root(move.client)
    consent = move.consent
    return {
        **everything_about(client, at=at, tables=COPIED),
        "format": FORMAT,
        "version": VERSION,
        "agreed": {
            "wording": consent.wording,
            "signed_name": consent.signed_name,
            "at": consent.recorded_at.isoformat(),
        },
        "colour_visits": _visits(client),
    }


def _visits(client: Client) -> list[CopiedVisit]:
    return [_visit(one) for one in histories.records_of(histories.tones_of(client))]


def _visit(record: VisitRecord) -> CopiedVisit:
    return {
        "date": record.visit.opened_at.isoformat(),
        "line": record.line_name,
        "stylist": record.visit.stylist.display_name,
        "reacted": record.reaction is not None,
        "parts": [_part(group) for group in record.groups],
        "steps": [_step(step) for step in record.steps],
    }


def _part(group: GroupRecord) -> CopiedPart:
    seen = group.result
    has_level = seen is not None and seen.level is not None
    return {
        "zones": group.zones,
        "before": group.place.shown["start"]["hex"],
        "after": group.promised["dry_hex"],
        "seen": (seen.predicted or {}).get("seen_hex", "") if seen else "",
        "promised": _outlook(group.promised),
        "predicted": _outlook(group.predicted),
        "mixes": [_mix(on) for on in group.mixed],
        "result": {
            "level": f"{seen.level:f}",
            "warmth_left_percent": seen.warmth_left_percent or 0,
            "evenness": seen.evenness,
            "client_word": seen.client_word,
            "note": seen.note,
        }
        if seen is not None and has_level
        else None,
    }


def _outlook(prediction: Any) -> dict[str, Any]:
    return {name: prediction[name] for name in _OUTLOOK if name in prediction}


def _mix(on: OnTheHair) -> CopiedMix:
    bowl = on.state.bowl
    return {
        "parts": _parts(on.state.formula),
        "poured": [(line.name, f"{line.poured_grams:f}") for line in bowl.lines.all()],
        "developer_grams": f"{bowl.developer_grams:f}",
        "strength_percent": f"{bowl.strength_percent:f}",
        "minutes": on.minutes,
    }


def _parts(formula: Formula) -> list[tuple[str, float]]:
    return [(line.name, float(line.parts)) for line in formula.lines.all()]


def _step(step: VisitStep) -> CopiedStep:
    strength = step.strength_percent
    return {
        "kind": step.kind,
        "zones": step.zones,
        "product": step.product,
        "minutes": step.minutes,
        "strength_percent": "" if strength is None else f"{strength:f}",
        "note": step.note,
    }
