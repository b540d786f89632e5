"""What a sign-off freezes: everything that was shown, as plain data."""

from typing import Any

from clients.selectors import safety_answers_in_force
from consult.agreement import signing, wordings
from consult.models import Choice, Visit, ZoneReading
from salon import languages


def of_reading(row: ZoneReading) -> dict[str, Any]:
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


def of_choice(visit: Visit, choice: Choice, *, signed: dict[str, Any]) -> dict[str, Any]:
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


def places_of(choice: Choice) -> list[dict[str, Any]]:
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
