"""Mixes weighed against each other: what each gives, costs, and misses of what was signed."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from django.utils.translation import gettext as _

from consult import selectors, zones
from consult.agreement import planning
from consult.agreement.deviation import strays
from consult.bench.recipes import BowlWeights, Offer, Parts, as_text, weigh
from consult.forms import parts_from_text
from consult.models import ChosenPlace, Visit
from formulas.engine_results import mix_in_words
from formulas.models import Shade
from formulas.snapshots import Prediction, Range

USUAL_GRAMS = Decimal(60)


@dataclass(frozen=True)
class Landing:
    """What a mix gives one signed place."""

    place: ChosenPlace
    predicted: Prediction
    minutes: int
    strays: str

    @property
    def warmth_off(self) -> float:
        """Warmth, in percent, more (positive) or less than was signed."""
        now, signed = self.predicted, self.place.predicted
        return _off(now["warmth_left_percent"], signed["warmth_left_percent"])

    @property
    def deeper_off(self) -> float:
        """Levels deeper (positive) or lighter than was signed."""
        now, signed = self.predicted, self.place.predicted
        return _off(now["levels_deeper_looks"], signed["levels_deeper_looks"])


def _off(now: Range, signed: Range) -> float:
    return float(now["value"] - signed["value"])


@dataclass(frozen=True)
class Side:
    """One mix with everything that tells it from another."""

    key: str
    parts: Parts
    mix: str
    label: str
    minutes: int
    bowl_grams: Decimal
    developer_percent: Decimal | None
    zone_minutes: Mapping[str, int]
    weights: BowlWeights
    outcomes: list[Landing] = field(default_factory=list)
    cost: Decimal | None = None
    bowls_in_stock: int = 0

    @property
    def as_text(self) -> str:
        """The parts as an address carries them."""
        return as_text(self.parts)

    @property
    def strays(self) -> bool:
        """Whether some place would not get what was signed for it."""
        return any(outcome.strays for outcome in self.outcomes)


@dataclass(frozen=True)
class Rival:
    """Another mix to compare with."""

    label: str
    text: str


def places_of(visit: Visit) -> list[ChosenPlace]:
    """Return the places of the choice in force."""
    choice = selectors.choice_in_force(visit)
    return list(choice.places.all()) if choice else []


def side(
    visit: Visit,
    key: str,
    parts: Parts,
    *,
    places: Sequence[ChosenPlace],
    shades: Sequence[Shade],
    at: dt.datetime,
    bowl_grams: Decimal,
    minutes: int,
    zone_minutes: Mapping[str, int] | None = None,
    developer_percent: Decimal | None = None,
    label: str = "",
) -> Side:
    """Return what a mix gives every signed place that it serves, and what it takes.

    Raises
    ------
    planning.NothingToMix, mixing.MixingRefused
        If it cannot be predicted, or not be mixed.
    """
    known = {shade.pk: shade for shade in shades}
    names = {pk: shade.name for pk, shade in known.items()}
    early = zone_minutes or {}
    readings = selectors.readings_in_force(visit)
    weights = weigh(visit, parts, bowl_grams, names, developer_percent=developer_percent)
    members = set(zones.Group(key).members)
    outcomes = []
    for place in places:
        if not set(zones.Group(place.zones).members) <= members:
            continue
        time = early.get(place.zones, minutes)
        predicted = planning.predict(
            visit, readings, place.zones, parts=parts, minutes=time, at=at
        )
        strayed = strays(signed=place.predicted, mix=predicted)
        outcomes.append(Landing(place, predicted, time, strayed))
    by_name = dict(weights.grams)
    grams = {pk: by_name[names[pk]] for pk in parts}
    return Side(
        key=key,
        parts=parts,
        mix=mix_in_words([(names[pk], float(part)) for pk, part in parts.items()]),
        label=label,
        minutes=minutes,
        bowl_grams=bowl_grams,
        developer_percent=developer_percent,
        zone_minutes=early,
        weights=weights,
        outcomes=outcomes,
        cost=_cost([(known[pk], g) for pk, g in grams.items()]),
        bowls_in_stock=min(
            int(max(known[pk].grams, 0) // g)  # type: ignore[attr-defined]
            for pk, g in grams.items()
        ),
    )


def _cost(weighed: Sequence[tuple[Shade, Decimal]]) -> Decimal | None:
    """Return what the colour costs; None where a shade has no price yet."""
    if any(shade.known_price_per_gram is None for shade, _grams in weighed):
        return None
    return sum((shade.price_per_gram * grams for shade, grams in weighed), Decimal(0))


def sides(
    visit: Visit,
    key: str,
    texts: Sequence[str],
    *,
    offers: Sequence[Offer],
    shades: Sequence[Shade],
    at: dt.datetime,
) -> list[Side]:
    """Return the mixes of an address, each named by where it comes from."""
    places = places_of(visit)
    offer = next((offer_here for offer_here in offers if offer_here.key == key), None)
    found = []
    for text in texts:
        decided = None
        if offer and dict(offer.comparable).get("decided") == text:
            decided = offer.formula
        usual_grams = offer.bowl_grams if offer else USUAL_GRAMS
        found.append(
            side(
                visit,
                key,
                parts_from_text(text, shades),
                places=places,
                shades=shades,
                at=at,
                label=named(text, offer),
                bowl_grams=decided.bowl_grams if decided else usual_grams,
                minutes=(decided or visit.line).processing_minutes,
                developer_percent=decided.developer_percent if decided else None,
            )
        )
    return found


def named(text: str, offer: Offer | None) -> str:
    """Return where a mix comes from, in words."""
    code = next(
        (
            code
            for code, parts_text in (offer.comparable if offer else [])
            if parts_text == text
        ),
        "",
    )
    return label_of(code)


def label_of(code: str) -> str:
    """Return the words of a source: "again", "decided", "s1" and so on; else one's own."""
    labels = {"again": _("Last visit's mix"), "decided": _("The one in use")}
    if code in labels:
        return labels[code]
    if code.startswith("s") and code[1:].isdecimal() and len(code) < 4:
        return _("Suggestion %(rank)s") % {"rank": code[1:]}
    return _("Your own mix")


def rivals(mine: Side, others: Sequence[str], shades: Sequence[Shade]) -> list[Rival]:
    """Return the mixes that a form offers to compare with, "code=12:2,15:1" each."""
    found = []
    for other in others[:8]:
        code, _sign, text = other.partition("=")
        if parts_from_text(text, shades) and text != mine.as_text:
            found.append(Rival(label_of(code), text))
    return found
