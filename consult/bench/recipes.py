"""What the formula page offers for each signed place: the last visit's mix, then the ranked."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from consult import selectors, zones
from consult.agreement import planning
from consult.agreement.deviation import strays
from consult.bench import starting_values
from consult.bench.reasons import SHOWN, Reason, reason
from consult.history import histories
from consult.history.visit_record import GroupRecord, VisitRecord
from consult.models import Choice, ChosenPlace, Formula, Source, Visit
from formulas import mixing
from formulas.engine_results import mix_in_words
from formulas.models import Shade
from formulas.snapshots import PlainMix, Prediction
from formulas.suggestion import RankedMix

Parts = dict[int, Decimal]


@dataclass(frozen=True)
class Recipe:
    """A mix that can be taken with one press."""

    parts: Parts
    mix: str
    predicted: Prediction
    weights: "BowlWeights"
    reasons: Sequence[Reason]
    risks: Sequence[Reason] = ()
    strays: str = ""
    bowl_grams: Decimal = Decimal(0)
    is_grown: bool = False
    repeats: GroupRecord | None = None

    @property
    def as_text(self) -> str:
        """The parts as an address carries them."""
        return as_text(self.parts)


@dataclass(frozen=True)
class BowlWeights:
    """A bowl on the scale."""

    grams: tuple[tuple[str, Decimal], ...]
    developer: Decimal
    total: Decimal
    error_percent: Decimal
    strength_percent: Decimal


@dataclass(frozen=True)
class Offer:
    """Everything the formula page shows for one signed group of zones."""

    key: str
    place: ChosenPlace
    formula: Formula | None
    bowl_grams: Decimal
    from_last_bowl: bool
    recipes: list[Recipe] = field(default_factory=list)
    again: Recipe | None = None

    @property
    def comparable(self) -> list[tuple[str, str]]:
        """Mixes that can be set side by side: a code for where each comes from, its parts."""
        found = [("again", self.again.as_text)] if self.again else []
        if self.formula and self.formula.zones == self.key:
            parts = {line.shade_id: line.parts for line in self.formula.lines.all()}
            found.append(("decided", as_text(parts)))
        found += [(f"s{n}", recipe.as_text) for n, recipe in enumerate(self.recipes, start=1)]
        return list({text: (code, text) for code, text in reversed(found)}.values())[::-1]


def as_text(parts: Parts) -> str:
    """Return parts by shade id as an address carries them: "12:2,15:1"."""
    return ",".join(f"{pk}:{part.normalize():f}" for pk, part in parts.items())


def weigh(
    visit: Visit,
    parts: Parts,
    bowl: Decimal,
    names: Mapping[int, str],
    *,
    developer_percent: Decimal | None = None,
) -> BowlWeights:
    """Return a mix in grams, or raise `mixing.MixingRefused`."""
    ratio = visit.line.developer_ratio
    scale_step = starting_values.amounts_of(visit).scale_step
    weights = mixing.parts_to_grams(
        {names[pk]: part for pk, part in parts.items()},
        colour_grams=bowl / (1 + ratio),
        scale_step=scale_step,
    )
    developer = mixing.developer_grams(weights.total, ratio=ratio, scale_step=scale_step)
    usual = visit.line.developer_percent
    strength = mixing.check_developer(
        usual if developer_percent is None else developer_percent, ratio=ratio
    )
    return BowlWeights(
        weights.grams, developer, weights.total + developer, weights.error_percent, strength
    )


def in_shelf_order(parts: Parts, names: Mapping[int, str]) -> Parts:
    """Return the parts in the order of the shelf, which formula, bowl and card keep."""
    return {pk: parts[pk] for pk in names if pk in parts}


def fitting_bowl(visit: Visit, parts: Parts, bowl: Decimal) -> Decimal:
    """Return the bowl in which every part can be weighed, or raise `mixing.MixingRefused`."""
    return mixing.weighable_bowl(
        list(parts.values()),
        bowl_grams=bowl,
        ratio=visit.line.developer_ratio,
        table=starting_values.amounts_of(visit),
    )


def offers(
    visit: Visit,
    shades: Sequence[Shade],
    *,
    choice: Choice | None,
    readings: planning.Readings,
    at: dt.datetime,
) -> list[Offer]:
    """Return an offer for every place of the choice in force, once it is signed."""
    signed = selectors.sign_off_of(choice)
    if choice is None or signed is None:
        return []
    facts = selectors.facts_in_force(visit)
    current = selectors.formulas_in_force(visit, signed)
    last = next(iter(histories.last_visits(visit, count=1)), None)
    found = []
    for place in choice.places.all():
        members = set(zones.Group(place.zones).members)
        formula = next(
            (f for f in current if members <= set(zones.Group(f.zones).members)), None
        )
        bowl, from_last = starting_values.bowl_grams(visit, place.zones, facts)
        maker = _Maker(visit, place, bowl, {shade.pk: shade.name for shade in shades}, at)
        ranked, again = _without_duplicate(maker.ranked(readings), maker.again(readings, last))
        found.append(
            Offer(
                key=place.zones,
                place=place,
                formula=formula,
                bowl_grams=bowl,
                from_last_bowl=from_last,
                recipes=ranked,
                again=again,
            )
        )
    return found


def _without_duplicate(
    ranked: list[Recipe], again: Recipe | None
) -> tuple[list[Recipe], Recipe | None]:
    """Return them with a suggestion that is the last visit's mix shown there only."""
    if again is None:
        return ranked, None
    same = next((recipe for recipe in ranked if recipe.parts == again.parts), None)
    if same is None:
        return ranked, again
    return [recipe for recipe in ranked if recipe is not same], replace(
        again, reasons=same.reasons
    )


@dataclass(frozen=True)
class _Maker:
    """Makes the recipes of one place."""

    visit: Visit
    place: ChosenPlace
    bowl: Decimal
    names: Mapping[int, str]
    at: dt.datetime

    def ranked(self, readings: planning.Readings) -> list[Recipe]:
        ids = {name: pk for pk, name in self.names.items()}
        chosen = self.place.shown["chosen"]
        rows = planning.ranked(
            self.visit,
            readings,
            self.place.zones,
            aim=self.place.warmth_aim_percent,
            bowl_grams=float(self.bowl),
            at=self.at,
            as_dark_as=self.place.as_dark_as,
        )
        rows = _signed_first(rows, chosen if "head" in self.place.shown else None)
        made = [
            self.make(
                readings,
                {ids[name]: Decimal(str(part)) for name, part in row.parts},
                row.reasons,
            )
            for row in rows
            if all(name in ids for name, _part in row.parts)
        ]
        return [recipe for recipe in made if recipe]

    def again(self, readings: planning.Readings, last: VisitRecord | None) -> Recipe | None:
        if last is None or last.visit.line_id != self.visit.line_id:
            return None
        members = set(zones.Group(self.place.zones).members)
        group = max(
            (g for g in last.groups if g.bowls and members & set(zones.Group(g.zones).members)),
            key=lambda g: len(members & set(zones.Group(g.zones).members)),
            default=None,
        )
        if group is None or group.formula is None:
            return None
        parts = {line.shade_id: line.parts for line in group.formula.lines.all()}
        if not set(parts) <= set(self.names):
            return None
        return self.make(readings, parts, [], repeats=group)

    def make(
        self,
        readings: planning.Readings,
        parts: Parts,
        reasons: Sequence[Reason],
        repeats: GroupRecord | None = None,
    ) -> Recipe | None:
        parts = in_shelf_order(parts, self.names)
        try:
            predicted = planning.predict(
                self.visit, readings, self.place.zones, parts=parts, at=self.at
            )
            bowl = fitting_bowl(self.visit, parts, self.bowl)
            weights = weigh(self.visit, parts, bowl, self.names)
        except (planning.NothingToMix, mixing.MixingRefused):
            return None
        return Recipe(
            parts=parts,
            mix=mix_in_words([(self.names[pk], float(p)) for pk, p in parts.items()]),
            predicted=predicted,
            weights=weights,
            reasons=reasons,
            bowl_grams=bowl,
            is_grown=bowl > self.bowl,
            risks=predicted["sentences"],
            strays=strays(signed=self.place.predicted, mix=predicted),
            repeats=repeats,
        )


def _signed_first(rows: list[RankedMix], chosen: PlainMix | None) -> list[RankedMix]:
    """Return the short list with the mix that was shown and signed at its head."""
    if chosen is None:
        return rows
    parts = {str(name): float(part) for name, part in chosen["parts"]}
    same = [row for row in rows if {n: float(p) for n, p in row.parts} == parts]
    others = [row for row in rows if row not in same]
    reasons = (reason(SHOWN), *(same[0].reasons if same else ()))
    return [RankedMix(chosen, reasons), *others][: max(len(rows), 1)]


def source_of(offer: Offer, parts: Parts, posted: str) -> tuple[str, list[Reason]]:
    """Return where a posted mix came from, and the reasons that were shown with it."""
    for recipe in offer.recipes:
        if recipe.parts == parts:
            return Source.SUGGESTED, list(recipe.reasons)
    if offer.again and offer.again.parts == parts:
        return Source.REPEATED, list(offer.again.reasons)
    return (Source.CHANGED if posted == Source.CHANGED else Source.OWN), []
