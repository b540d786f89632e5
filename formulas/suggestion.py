"""The one bridge between the records and the engine: rows in, plain data out.

Everything returned can be frozen as JSON, and carries the versions that it stands on, so
that an old suggestion can be explained years later.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from formulas import common_bowl, engine, engine_inputs, engine_sentences, warmth_words
from formulas.common_bowl import BowlWish, CommonBowl
from formulas.engine.light.colorimetry import lab_to_hex
from formulas.engine.search.practice import WHITE_PERCENT
from formulas.engine_inputs import Ground, LastToner, ZoneInput
from formulas.engine_results import (
    band_points,
    damp_hex,
    limit_points,
    mix_in_words,
    range_data,
    rounded,
    shown_data,
)
from formulas.models import ProductLine
from formulas.place_names import place_label
from formulas.practice_rules import practice_of
from formulas.shelf_search import ShelfTooEmpty, limit_band, offer_shelf

__all__ = [
    "BowlWish",
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
]


# From here on percentages of warmth say little, and cover is often wished.
MUCH_WHITE_PERCENT = WHITE_PERCENT
# Half of the step in which levels are read.
UNSEEN_LEVELS = 0.25
_RANGED = (
    "level",
    "warmth_left_percent",
    "levels_deeper_measured",
    "levels_deeper_looks",
    "damp_levels_deeper",
)


@dataclass(frozen=True)
class Suggestion:
    """What the choice screen shows of one zone: the limit, the reachable, three places.

    `data` is what can be frozen; the limit's range is computed where a chart is drawn.
    """

    data: dict[str, Any]
    ground: Ground = field(repr=False)
    read: ZoneInput = field(repr=False)

    def as_json(self) -> dict[str, Any]:
        """Return it all as plain data."""
        return self.data

    def cost_words(self, mix: Mapping[str, Any]) -> str:
        """Return what keeping to the salon's practice costs at a mix, in a sentence."""
        if not self.data["keeps_to_practice"]:
            return _("No mix from this stock follows your practice, so all mixes are offered.")
        costs = mix["practice_costs_levels"]
        if costs < UNSEEN_LEVELS:
            return _("Following your practice makes no visible difference here.")
        return _("Outside your practice a mix could look %(levels)s levels lighter.") % {
            "levels": number_format(round(costs, 1), 1)
        }

    def words(self, mix: Mapping[str, Any]) -> dict[str, str]:
        """Return what is said beside a mix: its warmth, short and in full, and its cost."""
        warmth = mix["warmth_left_percent"]
        return {
            "cost": self.cost_words(mix),
            "words": warmth_words.short(warmth, **self.start),
            "in_full": warmth_words.in_full(warmth, **self.start),
        }

    @property
    def start(self) -> dict[str, Any]:
        """The hair's warmth before toning, as `warmth_words` takes it."""
        start = self.data["start"]
        return {"start": start["warmth_percent"], "little": start["shows_little_warmth"]}

    def curve(self, *, chosen: float | None = None, name: str = "warmth_aim") -> dict[str, Any]:
        """Return what `{% tradeoff_curve %}` draws."""
        has_depth = self.data["wanted_level"] is not None
        return {
            "limit": self.data["limit"],
            "limit_band": band_points(limit_band(self.ground, self.read)),
            "mixes": [{**mix, **self.words(mix)} for mix in self.data["mixes"]],
            "places": [
                {**place, "label": place_label(place["key"], has_depth=has_depth)}
                for place in self.data["places"]
            ],
            "chosen": chosen,
            "start": self.data["start"],
            "name": name,
        }


def versions(line: ProductLine) -> dict[str, str]:
    """Return what a suggestion stands on: engine, line data and chart."""
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
        {
            "engine_version": ground.versions["engine_version"],
            "data_version": f"{ground.versions['data_version']}, practice {number}",
            "line": line.name,
            "zone": engine_inputs.plain_zone(zone),
            "minutes": minutes or line.processing_minutes,
            "bowl_grams": bowl_grams,
            "wanted_level": offer.wanted_level,
            "evaluated": every.evaluated,
            "start": {
                "lab": rounded(start),
                "hex": lab_to_hex(start),
                "damp_hex": damp_hex(every.bed),
                "warmth_percent": round(every.judge.start_percent, 2),
                "shows_little_warmth": every.judge.has_little_warmth,
                "looks_level": round(float(every.judge.looks_level(start)), 2),
            },
            "limit": limit_points(every.curve),
            "mixes": [shown_data(mix) for mix in shown],
            "places": [
                {"key": mix.key, "warmth_left_percent": round(mix.warmth_left_percent.value, 2)}
                for mix in shown
                if mix.key
            ],
            "offered": [mix.as_data() for mix in shown if mix.key],
            "keeps_to_practice": offer.keeps_to_practice,
        },
        ground,
        zone,
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
) -> list[dict[str, Any]]:
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
        {
            **shown_data(mix),
            "grams": [[name, round(grams, 2)] for name, grams in rank.grams],
            "gap_levels": round(rank.gap_levels, 2),
            "cost": None if rank.cost is None else round(rank.cost, 2),
            "bowls_in_stock": round(min(ground.stock[name] / g for name, g in rank.grams), 1),
            "reasons": [engine_sentences.coded(reason) for reason in (mix.why, *rank.reasons)],
        }
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
        "start_warmth_percent": round(prediction.start_warmth_percent, 2),
        "shows_little_warmth": prediction.shows_little_warmth,
        "cast": round(prediction.cast, 2),
        "terms": [asdict(term) for term in prediction.terms],
        "sentences": [engine_sentences.coded(sentence) for sentence in prediction.sentences],
    }
