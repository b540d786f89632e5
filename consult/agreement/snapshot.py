"""What a sign-off freezes: everything that was shown, as plain data."""

from collections.abc import Sequence
from typing import NotRequired, TypedDict

from clients.selectors import safety_answers_in_force
from consult.agreement import signing, wordings
from consult.models import Choice, Visit, ZoneReading
from formulas.snapshots import Mix, PlaceMark, PlainMix, Prediction, Start
from salon import languages


class ReadingShown(TypedDict):
    """A zone as it was read."""

    zone: str
    natural_level: float
    lifted_level: float
    undertone: float
    white_percent: int
    porosity: float
    banding: str


class HeadShown(TypedDict):
    """The place of the whole head that a part's mix belongs to; see `HeadPlace`."""

    warmth_left_percent: float
    levels_deeper_looks: float
    largest_difference: float
    is_even: bool
    held_by: str | None
    bowls: Sequence[Sequence[str]]


class Shown(TypedDict):
    """What the choice showed of a part: `ChosenPlace.shown`."""

    limit: list[list[float]]
    places: list[PlaceMark]
    start: Start
    mixes: list[Mix]
    chosen: PlainMix
    wanted_level: NotRequired[float | None]
    head: NotRequired[HeadShown]


class PlaceSigned(TypedDict):
    """A place of a choice as a sign-off keeps it."""

    zones: str
    place: str
    warmth_aim_percent: float
    statement: str
    readings: list[ReadingShown]
    shown: Shown
    predicted: Prediction


class SignedBy(TypedDict):
    """Who signed, how, before whom and when."""

    name: str
    method: str
    guardian_of: str
    witness_id: int
    witness: str
    at: str
    strokes_sha256: str


def of_reading(row: ZoneReading) -> ReadingShown:
    """Return a zone's reading as plain numbers."""
    return {
        "zone": row.zone,
        "natural_level": float(row.natural_level),
        "lifted_level": float(row.lifted_level),
        "undertone": float(row.undertone),
        "white_percent": row.white_percent,
        "porosity": float(row.porosity),
        "banding": row.banding,
    }


def of_choice(visit: Visit, choice: Choice, *, signed: SignedBy) -> dict[str, object]:
    """Return all that the client was shown and agreed to, with who signed and how."""
    answers = safety_answers_in_force(client=visit.client)
    with languages.speaking(choice.language):
        wording = wordings.frozen(choice.wording)
    return {
        "format": signing.FORMAT,
        "salon": {"id": visit.salon_id, "name": visit.salon.name},
        "visit": visit.pk,
        "client": {"id": visit.client_id, "name": visit.client.name},
        "line": {
            "id": visit.line_id,
            "name": visit.line.name,
            "invented": visit.line.is_starting_point,
        },
        "choice": choice.number,
        **wording,
        "answers": [
            {"question": key, "answer": row.answer, "at": signing.moment(row.answered_at)}
            for key, row in sorted(answers.items())
        ],
        "wanted_level": wanted_level_of(choice),
        "places": places_of(choice),
        "versions": {
            "engine": choice.engine_version,
            "data": choice.data_version,
            "policy": choice.policy_number,
        },
        "signed": signed,
    }


def wanted_level_of(choice: Choice) -> float | None:
    """Return the level that the client wished it to be as dark as, as a plain number."""
    return None if choice.wanted_level is None else float(choice.wanted_level)


def places_of(choice: Choice) -> list[PlaceSigned]:
    """Return the places of a choice with everything that was shown beside them."""
    return [
        {
            "zones": place.zones,
            "place": place.place,
            "warmth_aim_percent": place.warmth_aim_percent,
            "statement": place.statement,
            "readings": place.readings,
            "shown": place.shown,
            "predicted": place.predicted,
        }
        for place in choice.places.all()
    ]
