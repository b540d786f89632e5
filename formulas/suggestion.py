"""The one bridge between the records and the engine: rows in, plain data out.

Everything returned can be frozen as JSON, and carries the versions that it stands on, so
that an old suggestion can be explained years later.
"""

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from django.utils.translation import gettext as _

from formulas import common_bowl, engine, engine_inputs, engine_sentences, frontier_ranges
from formulas.common_bowl import CommonBowl
from formulas.engine.light.colorimetry import lab_to_hex
from formulas.engine_inputs import LastToner, ZoneInput
from formulas.engine_results import (
    damp_hex,
    limit_points,
    mix_data,
    mix_in_words,
    range_data,
    rounded,
)
from formulas.models import ProductLine
from formulas.shelf_search import ShelfTooEmpty, search_shelf

__all__ = [
    "CommonBowl",
    "LastToner",
    "ShelfTooEmpty",
    "Suggestion",
    "ZoneInput",
    "predict_mix",
    "rank_for",
    "share_bowl",
    "suggest",
    "versions",
    "washes_since",
    "washes_to_fade",
]


PLACE_KEYS = ("bright", "between", "cool")
_MOST_DRAWN = 60
_COOLEST_DRAWN = -25.0
_RANGED = (
    "level",
    "warmth_left_percent",
    "levels_deeper_measured",
    "levels_deeper_looks",
    "damp_levels_deeper",
)


@dataclass(frozen=True)
class Suggestion:
    """What the choice screen shows of one zone: the limit, the reachable, three places."""

    data: dict[str, Any]

    def as_json(self) -> dict[str, Any]:
        """Return it all as plain data."""
        return self.data

    def curve(self, *, chosen: float | None = None, name: str = "warmth_aim") -> dict[str, Any]:
        """Return what `{% tradeoff_curve %}` draws."""
        return {
            "limit": self.data["limit"],
            "mixes": self.data["mixes"],
            "places": [
                {**place, "label": place_label(place["key"])} for place in self.data["places"]
            ],
            "chosen": chosen,
            "start": self.data["start"],
            "name": name,
        }


def place_label(key: str) -> str:
    """Return the name of a place on the trade-off."""
    return {
        "bright": _("Bright, some gold"),
        "between": _("Balanced"),
        "cool": _("Coolest, deepest"),
        "own": _("Own place"),
    }[key]


def versions(line: ProductLine) -> dict[str, str]:
    """Return what a suggestion stands on: engine, line data and chart."""
    return dict(engine_inputs.ground_of(line).versions)


def suggest(
    *,
    line: ProductLine,
    zone: ZoneInput,
    minutes: float | None = None,
    bowl_grams: float = 60.0,
) -> Suggestion:
    """Return limit, frontier and places for a zone, from what stands on the shelf.

    Raises
    ------
    ValueError
        If the stock fills no bowl of this line at all; the message says what is missing.
    """
    ground = engine_inputs.ground_of(line)
    result = search_shelf(ground, zone, minutes, bowl_grams)
    found = engine.places(result)
    places = [
        {"key": key, "warmth_left_percent": round(mix.warmth_left_percent, 2)}
        for key, mix in zip(PLACE_KEYS, (found.bright, found.between, found.cool), strict=True)
    ]
    start = result.judge.start_lab
    mixes = [mix_data(result, mix) for mix in _thinned(result.frontier, places)]
    return Suggestion(
        {
            **ground.versions,
            "line": line.name,
            "zone": engine_inputs.plain_zone(zone),
            "minutes": minutes or line.processing_minutes,
            "bowl_grams": bowl_grams,
            "evaluated": result.evaluated,
            "start": {
                "lab": rounded(start),
                "hex": lab_to_hex(start),
                "damp_hex": damp_hex(start, result.bed.base_ks),
            },
            "limit": limit_points(result.curve),
            "mixes": frontier_ranges.ranged(
                ground=ground, zone=zone, mixes=mixes, minutes=minutes
            ),
            "places": places,
        }
    )


def rank_for(
    *,
    line: ProductLine,
    zone: ZoneInput,
    warmth_aim: float,
    k: int = 5,
    minutes: float | None = None,
    bowl_grams: float = 60.0,
) -> list[dict[str, Any]]:
    """Return the short list for an aim, each mix with its reasons in words, as plain data."""
    ground = engine_inputs.ground_of(line)
    result = search_shelf(ground, zone, minutes, bowl_grams)
    (ranked,) = engine.rank(result, [warmth_aim], k=k)
    return [
        {
            **mix_data(result, one.candidate),
            "grams": [[name, round(grams, 2)] for name, grams in one.grams],
            "gap_levels": round(one.gap_levels, 2),
            "cost": None if one.cost is None else round(one.cost, 2),
            "bowls_in_stock": round(min(ground.stock[name] / g for name, g in one.grams), 1),
            "reasons": [engine_sentences.say(reason) for reason in one.reasons],
        }
        for one in ranked
    ]


def share_bowl(
    *,
    line: ProductLine,
    wishes: Mapping[str, tuple[ZoneInput, float]],
    bowl_grams: float = 60.0,
) -> CommonBowl:
    """Return the best one bowl for several groups of zones, and what each gives up.

    Raises
    ------
    ValueError
        If the stock fills no bowl of this line; the message says what is missing.
    """
    return common_bowl.common_bowl(
        ground=engine_inputs.ground_of(line), wishes=wishes, bowl_grams=bowl_grams
    )


def predict_mix(
    *,
    line: ProductLine,
    zone: ZoneInput,
    parts: Mapping[str, float],
    minutes: float | None = None,
    developer_ratio: float | None = None,
) -> dict[str, Any]:
    """Return what `parts` (by shade name) give on a zone, as plain data with words.

    Raises
    ------
    ValueError
        If a shade is not in the line or a number is out of range.
    """
    ground = engine_inputs.ground_of(line)
    prediction = engine.predict(
        ground.zone(zone),
        ground.in_use(),
        parts,
        minutes=minutes,
        chart=ground.chart,
        developer_ratio=developer_ratio,
        doubts=ground.doubts_of(zone),
    )
    return {
        **ground.versions,
        "zone": engine_inputs.plain_zone(zone),
        "parts": [[name, float(part)] for name, part in parts.items()],
        "label": mix_in_words(list(parts.items())),
        "minutes": minutes or line.processing_minutes,
        "start_hex": prediction.start_hex,
        "start_damp_hex": prediction.start_damp_hex,
        "dry_hex": prediction.dry_hex,
        "damp_hex": prediction.damp_hex,
        "start_lab": rounded(prediction.start_lab),
        "dry_lab": rounded(prediction.dry_lab.value),
        "damp_lab": rounded(prediction.damp_lab.value),
        **{name: range_data(getattr(prediction, name)) for name in _RANGED},
        "cast": round(prediction.cast, 2),
        "terms": [asdict(term) for term in prediction.terms],
        "sentences": [engine_sentences.say(sentence) for sentence in prediction.sentences],
    }


def washes_since(*, last: dt.datetime, now: dt.datetime, washes_per_week: float = 2.0) -> float:
    """Return how many washes lie between two moments, at two a week unless said otherwise."""
    return max((now - last).days, 0) / 7.0 * washes_per_week


def washes_to_fade(*, line: ProductLine, porosity: float = 0.0, left: float = 0.25) -> float:
    """Return after how many washes only a share of a line's toner is left on such hair."""
    one = engine.kept(1.0, kind=str(line.kind), porosity=porosity)
    return math.log(left) / math.log(one)


def _thinned(
    frontier: Sequence[engine.Candidate], places: list[dict[str, Any]]
) -> list[engine.Candidate]:
    """Return about sixty of the frontier, evenly by warmth, with the places among them."""
    shown = [m for m in frontier if m.warmth_left_percent >= _COOLEST_DRAWN] or list(frontier)
    wanted = {place["warmth_left_percent"] for place in places}
    if len(shown) <= _MOST_DRAWN:
        return shown
    warmest, coolest = shown[0].warmth_left_percent, shown[-1].warmth_left_percent
    step = (warmest - coolest) / (_MOST_DRAWN - 1)
    kept, due = [], warmest
    for mix in shown:
        warmth = mix.warmth_left_percent
        if warmth <= due + 1e-9 or mix is shown[-1]:
            kept.append(mix)
            due = min(due, warmth) - step
        elif round(warmth, 2) in wanted:
            kept.append(mix)
    return kept
