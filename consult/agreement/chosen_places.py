"""What is kept of a choice: each part's mix with its statement, and where parts differ."""

from collections.abc import Mapping
from itertools import combinations
from typing import Any

from consult import zones
from consult.agreement import snapshot, statement, wordings
from consult.agreement import whole_head as whole_head_words
from consult.agreement.planning import Plan, Readings, predict_by_name
from consult.models import Place, StatementWording, Visit
from formulas import head_suggestion


def chosen_places(
    plans: Mapping[str, Plan],
    readings: Readings,
    visit: Visit,
    *,
    aims: Mapping[str, float],
    wording: StatementWording | None,
    mixes: Mapping[str, Mapping[str, float]] | None = None,
    place: Mapping[str, Any] | None = None,
) -> dict[str, dict[str, Any]]:
    """Return the fields of every `ChosenPlace`; each says where parts of the head differ.

    `mixes` names those that are a certain mix, shade by shade: of an earlier visit, or of the
    `place` of the whole head that was chosen.
    """
    repeated = mixes or {}
    rows = {
        key: chosen_place(
            plan,
            readings,
            visit,
            aim=aims[key],
            wording=wording,
            parts=repeated.get(key),
            of_head=_of_head(place, key),
        )
        for key, plan in plans.items()
    }
    levels = {
        key: statement.level_after(
            float(readings[zones.Group(key).first].lifted_level), row["predicted"]
        )
        for key, row in rows.items()
    }
    if place is None:
        differs = statement.apart(levels) or statement.unlike(_largest_difference(rows))
    else:
        differs = "" if place["is_even"] else statement.unlike(place["largest_difference"])
    for row in rows.values():
        if place is not None:
            row["place"] = place["key"] or Place.OWN
            row["shown"]["head"] = whole_head_words.frozen(place)
        row["statement"] = f"{row['statement']} {differs}".strip()
    return rows


def _of_head(place: Mapping[str, Any] | None, key: str) -> dict[str, Any]:
    """Return what a part's chosen mix keeps of the place of the whole head."""
    if place is None:
        return {}
    names = ("difference", "deeper_for_the_whole", "looks_level")
    return {name: place["zones"][key][name] for name in names if name in place["zones"][key]}


def _largest_difference(rows: Mapping[str, Mapping[str, Any]]) -> float:
    """Return how unlike the two parts end that are most unlike. [CIEDE2000]"""
    labs = [row["predicted"]["dry_lab"] for row in rows.values()]
    pairs = combinations(labs, 2)
    return max((head_suggestion.colour_difference(*pair) for pair in pairs), default=0.0)


def chosen_place(
    plan: Plan,
    readings: Readings,
    visit: Visit,
    *,
    aim: float,
    wording: StatementWording | None,
    parts: Mapping[str, float] | None = None,
    of_head: Mapping[str, Any] | None = None,
) -> dict[str, Any]:
    """Return the fields of a `ChosenPlace`: what the nearest mix to the aim means here.

    With `parts` it is that very mix, whether the frontier has it or not; `of_head` is what is
    known of it from the place of the whole head.
    """
    mix = plan.nearest(aim)
    predicted = predict_by_name(visit, plan.zone, dict(parts or mix["parts"]))
    if parts:
        mix = _as_mix(predicted) | dict(of_head or {})
    first = readings[zones.Group(plan.key).first]
    data = plan.suggestion.data
    return {
        "place": Place.OWN if parts else plan.place_of(aim),
        "warmth_aim_percent": mix["warmth_left_percent"],
        "statement": wordings.statement_for(
            wording,
            wanted_level=plan.wanted_level,
            key=plan.key,
            lifted_level=float(first.lifted_level),
            predicted=predicted,
        ),
        "readings": [
            snapshot.of_reading(readings[zone]) for zone in zones.Group(plan.key).members
        ],
        "shown": {
            "limit": data["limit"],
            "places": data["places"],
            "start": data["start"],
            "mixes": plan.mixes,
            "chosen": mix,
            "wanted_level": plan.wanted_level,
        },
        "predicted": predicted,
    }


def _as_mix(predicted: Mapping[str, Any]) -> dict[str, Any]:
    """Return a prediction as the choice shows a mix."""
    return {
        "parts": predicted["parts"],
        "label": predicted["label"],
        "warmth_left_percent": round(predicted["warmth_left_percent"]["value"], 3),
        "levels_deeper_looks": round(predicted["levels_deeper_looks"]["value"], 3),
        "hex": predicted["dry_hex"],
        "damp_hex": predicted["damp_hex"],
    }
