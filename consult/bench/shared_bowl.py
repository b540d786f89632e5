"""One bowl for several signed places: what it gives each, and what each gives up for it."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from consult import zones
from consult.agreement import planning
from consult.agreement.deviation import strays
from consult.bench import starting_values
from consult.bench.reasons import Reason
from consult.bench.recipes import (
    BowlWeights,
    Parts,
    as_text,
    fitting_bowl,
    in_shelf_order,
    weigh,
)
from consult.models import ChosenPlace, HairFacts, Visit
from formulas import mixing
from formulas.engine_results import mix_in_words
from formulas.snapshots import Prediction
from formulas.suggestion import CommonBowl


@dataclass(frozen=True)
class SharedOutcome:
    """What the common bowl gives one place.

    `minutes` is set where the place has it for the last minutes only; `own_deeper` is how much
    deeper it looks than with the best bowl of its own.
    """

    place: ChosenPlace
    predicted: Prediction
    minutes: int | None
    own_deeper: float
    strays: str

    @property
    def misses(self) -> bool:
        """Whether the warmth differs from what was signed by a percent or more."""
        return abs(self.warmth_off) >= 1

    @property
    def warmth_off(self) -> float:
        """Warmth, in percent, more (positive) or less than was signed."""
        return float(
            self.predicted["warmth_left_percent"]["value"]
            - self.place.predicted["warmth_left_percent"]["value"]
        )


@dataclass(frozen=True)
class SharedBowl:
    """A common bowl that can be taken with one press, where no place strays."""

    key: str
    parts: Parts
    mix: str
    weights: BowlWeights
    bowl_grams: Decimal
    is_grown: bool
    outcomes: Sequence[SharedOutcome]
    is_good: bool
    sentences: Sequence[Reason]

    @property
    def as_text(self) -> str:
        """The parts as an address carries them."""
        return as_text(self.parts)

    @property
    def strays(self) -> bool:
        """Whether some place would not get what was signed for it."""
        return any(outcome.strays for outcome in self.outcomes)

    @property
    def early(self) -> dict[str, int]:
        """The places that are put on last, with their minutes."""
        return {
            outcome.place.zones: outcome.minutes for outcome in self.outcomes if outcome.minutes
        }


def neighbours(places: Sequence[ChosenPlace]) -> list[list[ChosenPlace]]:
    """Return every run of two or more places that lie side by side, all of them last."""
    count = len(places)
    return [
        list(places[start : start + size])
        for size in range(2, count + 1)
        for start in range(count - size + 1)
    ]


def shared_bowls(
    visit: Visit,
    places: Sequence[ChosenPlace],
    readings: planning.Readings,
    names: Mapping[int, str],
    facts: HairFacts | None,
    *,
    at: dt.datetime,
) -> list[SharedBowl]:
    """Return the best common bowl of each run of places that could share one."""
    ids = {name: pk for pk, name in names.items()}
    found = []
    for members in neighbours(places):
        key = zones.Group.over(place.zones for place in members)
        bowl, _from_last = starting_values.bowl_grams(visit, key, facts)
        aims = {place.zones: place.warmth_aim_percent for place in members}
        dark = {place.zones: place.as_dark_as for place in members}
        common = planning.shared(
            visit, readings, aims, bowl_grams=float(bowl), at=at, as_dark_as=dark
        )
        parts = in_shelf_order({ids[name]: Decimal(n) for name, n in common.parts}, names)
        try:
            grown = fitting_bowl(visit, parts, bowl)
            weights = weigh(visit, parts, grown, names)
        except mixing.MixingRefused:
            continue
        found.append(
            SharedBowl(
                key=key,
                parts=parts,
                mix=mix_in_words([(names[pk], float(p)) for pk, p in parts.items()]),
                weights=weights,
                bowl_grams=grown,
                is_grown=grown > bowl,
                outcomes=_shared_outcomes(
                    visit, members, readings, parts=parts, common=common, at=at
                ),
                is_good=common.is_good,
                sentences=common.sentences,
            )
        )
    return found


def _shared_outcomes(
    visit: Visit,
    members: Sequence[ChosenPlace],
    readings: planning.Readings,
    *,
    parts: Parts,
    common: CommonBowl,
    at: dt.datetime,
) -> list[SharedOutcome]:
    time = visit.line.processing_minutes
    early = {key: share.minutes for key, share in common.shares.items()}
    if all(early.values()):  # then the whole bowl is simply shorter
        early[max(early, key=lambda key: early[key] or 0)] = None
    outcomes = []
    for place in members:
        minutes = early[place.zones]
        predicted = planning.predict(
            visit, readings, place.zones, parts=parts, minutes=minutes or time, at=at
        )
        outcomes.append(
            SharedOutcome(
                place=place,
                predicted=predicted,
                minutes=minutes,
                own_deeper=common.shares[place.zones].own_deeper,
                strays=strays(signed=place.predicted, mix=predicted),
            )
        )
    return outcomes
