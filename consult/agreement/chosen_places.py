"""What is kept of a choice: each part's mix with its statement, and where parts differ."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import combinations

from consult import zones
from consult.agreement import snapshot, statement, wordings
from consult.agreement import whole_head as whole_head_words
from consult.agreement.planning import Plan, Readings, predict_by_name
from consult.models import Place, StatementWording, Visit
from formulas import head_suggestion
from formulas.head_suggestion import HeadPlace
from formulas.snapshots import PlainMix, Prediction


@dataclass(frozen=True)
class PlaceToKeep:
    """The fields of a `ChosenPlace`."""

    place: str
    warmth_aim_percent: float
    statement: str
    readings: list[snapshot.ReadingShown]
    shown: snapshot.Shown
    predicted: Prediction


def chosen_places(
    plans: Mapping[str, Plan],
    readings: Readings,
    visit: Visit,
    *,
    aims: Mapping[str, float],
    wording: StatementWording | None,
    mixes: Mapping[str, Mapping[str, float]] | None = None,
    place: HeadPlace | None = None,
) -> dict[str, PlaceToKeep]:
    """Return what is kept for every part; each says where parts of the head differ.

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
            of_head=place.zones[key] if place else None,
        )
        for key, plan in plans.items()
    }
    levels = {
        key: statement.level_after(
            float(readings[zones.Group(key).first].lifted_level), row.predicted
        )
        for key, row in rows.items()
    }
    if place is None:
        differs = statement.apart(levels) or statement.unlike(_largest_difference(rows))
    else:
        differs = "" if place.is_even else statement.unlike(place.largest_difference)
    return {
        key: replace(
            row if place is None else _in_head(row, place),
            statement=f"{row.statement} {differs}".strip(),
        )
        for key, row in rows.items()
    }


def _in_head(row: PlaceToKeep, place: HeadPlace) -> PlaceToKeep:
    """Return a part with the place of the whole head that it belongs to."""
    return replace(
        row,
        place=place.key or Place.OWN,
        shown={**row.shown, "head": whole_head_words.frozen(place)},
    )


def _largest_difference(rows: Mapping[str, PlaceToKeep]) -> float:
    """Return how unlike the two parts end that are most unlike. [CIEDE2000]"""
    labs = [row.predicted["dry_lab"] for row in rows.values()]
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
    of_head: PlainMix | None = None,
) -> PlaceToKeep:
    """Return what is kept of a part: what the nearest mix to the aim means here.

    With `parts` it is that very mix, whether the frontier has it or not; `of_head` is what is
    known of it from the place of the whole head.
    """
    mix: PlainMix = plan.nearest(aim)
    predicted = predict_by_name(visit, plan.zone, dict(parts or mix["parts"]))
    if parts:
        mix = _as_mix(predicted, of_head)
    first = readings[zones.Group(plan.key).first]
    found = plan.suggestion
    return PlaceToKeep(
        place=Place.OWN if parts else plan.place_of(aim),
        warmth_aim_percent=mix["warmth_left_percent"],
        statement=wordings.statement_for(
            wording,
            wanted_level=plan.wanted_level,
            key=plan.key,
            lifted_level=float(first.lifted_level),
            predicted=predicted,
        ),
        readings=[
            snapshot.of_reading(readings[zone]) for zone in zones.Group(plan.key).members
        ],
        shown={
            "limit": found.limit,
            "places": found.places,
            "start": found.start,
            "mixes": plan.mixes,
            "chosen": mix,
            "wanted_level": plan.wanted_level,
        },
        predicted=predicted,
    )


def _as_mix(predicted: Prediction, of_head: PlainMix | None) -> PlainMix:
    """Return a prediction as the choice shows a mix, with what it is to the whole head."""
    mix: PlainMix = {
        "parts": predicted["parts"],
        "label": predicted["label"],
        "warmth_left_percent": round(predicted["warmth_left_percent"]["value"], 3),
        "levels_deeper_looks": round(predicted["levels_deeper_looks"]["value"], 3),
        "hex": predicted["dry_hex"],
        "damp_hex": predicted["damp_hex"],
    }
    if of_head is None:
        return mix
    mix["difference"] = of_head["difference"]
    mix["deeper_for_the_whole"] = of_head["deeper_for_the_whole"]
    if "looks_level" in of_head:
        mix["looks_level"] = of_head["looks_level"]
    return mix
