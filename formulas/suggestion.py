"""The one bridge between the records and the engine: rows in, results out.

What rows keep of it has the shapes of `formulas.snapshots`; it carries the versions of its
inputs, so that an old suggestion can be explained years later.
"""

from collections.abc import Mapping

from formulas import common_bowl, engine, engine_inputs, engine_sentences
from formulas.common_bowl import BowlWish, CommonBowl
from formulas.engine.light.colorimetry import lab_to_hex
from formulas.engine.search.practice import WHITE_PERCENT
from formulas.engine_inputs import LastToner, ZoneInput
from formulas.engine_results import (
    damp_hex,
    limit_points,
    mix_in_words,
    plain_zone,
    range_data,
    rounded,
    shown_data,
)
from formulas.mixes_shown import RankedMix, Suggestion
from formulas.models import ProductLine
from formulas.practice_rules import practice_of
from formulas.shelf_search import ShelfTooEmpty, offer_shelf
from formulas.snapshots import (
    Prediction,
    StoredTerm,
)

__all__ = [
    "BowlWish",
    "CommonBowl",
    "LastToner",
    "RankedMix",
    "ShelfTooEmpty",
    "Suggestion",
    "ZoneInput",
    "predict_mix",
    "rank_for",
    "share_bowl",
    "suggest",
    "versions",
]


# From here on percentages of warmth say little, and cover is often wished.
MUCH_WHITE_PERCENT = WHITE_PERCENT


def versions(line: ProductLine) -> dict[str, str]:
    """Return the inputs of a suggestion: engine, line data and chart."""
    return dict(engine_inputs.ground_of(line).versions)


def suggest(
    *,
    line: ProductLine,
    zone: ZoneInput,
    minutes: float | None = None,
    bowl_grams: float = 60.0,
    wanted_level: float | None = None,
    levels_deeper: float = 0.0,
) -> Suggestion:
    """Return the limit and what is offered along it on a zone, from what the shelf holds.

    A wish for depth is a level, or so many levels deeper than the hair looks now; 0 is none.

    Raises
    ------
    ValueError
        If the stock fills no bowl of this line at all; the message says what is missing.
    """
    ground = engine_inputs.ground_of(line)
    number, practice = practice_of(line)
    offer = offer_shelf(
        ground,
        zone,
        practice,
        minutes=minutes,
        bowl_grams=bowl_grams,
        wanted_level=wanted_level,
        levels_deeper=levels_deeper,
    )
    shown = engine.shown(offer, offer.along, doubts=ground.doubts_of(zone))
    every = offer.every
    start = every.judge.start_lab
    return Suggestion(
        engine_version=ground.versions["engine_version"],
        data_version=f"{ground.versions['data_version']}, practice {number}",
        minutes=minutes or line.processing_minutes,
        bowl_grams=bowl_grams,
        wanted_level=offer.wanted_level,
        evaluated=every.evaluated,
        start={
            "lab": rounded(start),
            "hex": lab_to_hex(start),
            "damp_hex": damp_hex(every.bed),
            "warmth_percent": round(every.judge.start_percent, 2),
            "shows_little_warmth": every.judge.has_little_warmth,
            "looks_level": round(float(every.judge.looks_level(start)), 2),
        },
        limit=limit_points(every.curve),
        mixes=[shown_data(mix) for mix in shown],
        places=[
            {"key": mix.key, "warmth_left_percent": round(mix.warmth_left_percent.value, 2)}
            for mix in shown
            if mix.key
        ],
        named=tuple(mix for mix in shown if mix.key),
        keeps_to_practice=offer.keeps_to_practice,
        ground=ground,
        read=zone,
    )


def rank_for(
    *,
    line: ProductLine,
    zone: ZoneInput,
    warmth_aim: float,
    k: int = 5,
    minutes: float | None = None,
    bowl_grams: float = 60.0,
    wanted_level: float | None = None,
    levels_deeper: float = 0.0,
) -> list[RankedMix]:
    """Return the short list for a place: what the choice showed there, then mixes like it."""
    ground = engine_inputs.ground_of(line)
    offer = offer_shelf(
        ground,
        zone,
        practice_of(line)[1],
        minutes=minutes,
        bowl_grams=bowl_grams,
        wanted_level=wanted_level,
        levels_deeper=levels_deeper,
    )
    offered = offer.short_list(warmth_aim, k=k)
    shown = engine.shown(offer, offered, doubts=ground.doubts_of(zone))
    ranked = engine.ranked_mixes(offer.within, [mix.mix for mix in offered], warmth_aim)
    return [
        RankedMix(
            shown_data(mix),
            reasons=tuple(map(engine_sentences.coded, (mix.why, *rank.reasons))),
            grams=tuple((name, round(grams, 2)) for name, grams in rank.grams),
            gap_levels=round(rank.gap_levels, 2),
            cost=None if rank.cost is None else round(rank.cost, 2),
            bowls_in_stock=round(min(ground.stock[name] / g for name, g in rank.grams), 1),
        )
        for mix, rank in zip(shown, ranked, strict=True)
    ]


def share_bowl(
    *, line: ProductLine, wishes: Mapping[str, BowlWish], bowl_grams: float = 60.0
) -> CommonBowl:
    """Return the best one bowl for several groups of zones, and what each gives up.

    Raises
    ------
    ValueError
        If the stock fills no bowl of this line; the message says what is missing.
    """
    return common_bowl.common_bowl(
        ground=engine_inputs.ground_of(line),
        practice=practice_of(line)[1],
        wishes=wishes,
        bowl_grams=bowl_grams,
    )


def predict_mix(
    *,
    line: ProductLine,
    zone: ZoneInput,
    parts: Mapping[str, float],
    minutes: float | None = None,
    developer_ratio: float | None = None,
) -> Prediction:
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
        "engine_version": ground.versions["engine_version"],
        "data_version": ground.versions["data_version"],
        "zone": plain_zone(zone),
        "parts": [(name, float(part)) for name, part in parts.items()],
        "label": mix_in_words(list(parts.items())),
        "minutes": minutes or line.processing_minutes,
        "start_hex": prediction.start_hex,
        "start_damp_hex": prediction.start_damp_hex,
        "dry_hex": prediction.dry_hex,
        "damp_hex": prediction.damp_hex,
        "start_lab": rounded(prediction.start_lab),
        "dry_lab": rounded(prediction.dry_lab.value),
        "damp_lab": rounded(prediction.damp_lab.value),
        "level": range_data(prediction.level),
        "warmth_left_percent": range_data(prediction.warmth_left_percent),
        "levels_deeper_measured": range_data(prediction.levels_deeper_measured),
        "levels_deeper_looks": range_data(prediction.levels_deeper_looks),
        "damp_levels_deeper": range_data(prediction.damp_levels_deeper),
        "start_warmth_percent": round(prediction.start_warmth_percent, 2),
        "shows_little_warmth": prediction.shows_little_warmth,
        "cast": round(prediction.cast, 2),
        "terms": [_term(term) for term in prediction.terms],
        "sentences": [engine_sentences.coded(sentence) for sentence in prediction.sentences],
    }


def _term(term: engine.Term) -> StoredTerm:
    return {
        "shade": term.shade,
        "part": term.part,
        "warmth_percent": term.warmth_percent,
        "levels_deeper": term.levels_deeper,
    }
