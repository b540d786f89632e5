"""From a visit's readings to predictions: what a group of zones is asked of the formulary."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _

from consult import zones
from consult.agreement.whole_head import HeadPlan
from consult.bench import starting_values
from consult.history import earlier_tonings
from consult.models import Place, Visit, ZoneReading
from consult.selectors import facts_in_force, groups_of
from formulas import head_suggestion, refusals, suggestion
from formulas.drawing import plot
from formulas.earlier_visits import Earlier
from formulas.models import ProductLine
from formulas.selectors import shades_in_use
from formulas.snapshots import Mix, Prediction
from salon.reading_once import read_once
from salon.refusals import Refused

Readings = Mapping[str, ZoneReading]


class NothingToMix(Refused):
    """Raised when the stock of a line fills no bowl, or a mix cannot be predicted."""


@dataclass(frozen=True)
class Plan:
    """What can be reached on one group of zones, ready to be shown."""

    key: str
    zone: suggestion.ZoneInput
    suggestion: suggestion.Suggestion

    @property
    def mixes(self) -> list[Mix]:
        """The frontier, warmest first."""
        return list(self.suggestion.mixes)

    @property
    def versions(self) -> dict[str, str]:
        """Its inputs."""
        found = self.suggestion
        return {"engine": found.engine_version, "data": found.data_version}

    @property
    def wanted_level(self) -> float | None:
        """The level that the client wishes it to be as dark as, if any."""
        return self.suggestion.wanted_level

    def curve(self, *, chosen: float | None) -> plot.PlainCurve:
        """Return what the choice plot draws."""
        return self.suggestion.curve(chosen=chosen, name=field_name(self.key))

    def nearest(self, aim: float) -> Mix:
        """Return the mix of the frontier nearest to an aim, the lighter of two as near."""
        return min(
            self.mixes,
            key=lambda mix: (
                abs(mix["warmth_left_percent"] - aim),
                mix["levels_deeper_looks"],
            ),
        )

    def place_of(self, aim: float) -> str:
        """Return the named place that an aim means, or "own"."""
        mix = self.nearest(aim)
        for place in self.suggestion.places:
            if self.nearest(place["warmth_left_percent"]) == mix:
                return str(place["key"])
        return Place.OWN


def field_name(key: str) -> str:
    """Return the form field of a group's aim."""
    return "aim-" + key.replace(",", "-")


def inputs(
    visit: Visit, readings: Readings, *, at: dt.datetime
) -> dict[str, suggestion.ZoneInput]:
    """Return the engine's input of every read zone."""
    earlier = earlier_tonings.for_next_mix(visit, at=at)
    unknown = Earlier()
    return {
        zone: suggestion.ZoneInput(
            lifted_level=float(row.lifted_level),
            undertone=float(row.undertone),
            white_percent=float(row.white_percent),
            porosity=float(row.porosity),
            residual=earlier.get(zone, unknown).residual,
            take=earlier.get(zone, unknown).take,
            take_doubt=earlier.get(zone, unknown).take_doubt,
            natural_level=float(row.natural_level),
        )
        for zone, row in readings.items()
    }


def plan(
    visit: Visit,
    key: str,
    zone: suggestion.ZoneInput,
    *,
    bowl_grams: float = 60.0,
    wanted_level: float | None = None,
) -> Plan:
    """Return what can be reached on one group of zones with a bowl of that size."""
    with refusals.refused_as(NothingToMix):
        found = suggestion.suggest(
            line=visit.line, zone=zone, bowl_grams=bowl_grams, wanted_level=wanted_level
        )
    return Plan(key, zone, found)


def plans(
    visit: Visit,
    readings: Readings,
    *,
    at: dt.datetime,
    wanted_level: Decimal | float | None = None,
) -> dict[str, Plan]:
    """Return a plan for each group of toned zones, from the scalp outwards.

    `wanted_level` is the level that the client wishes it to be as dark as, if any.
    """
    wish = None if wanted_level is None else float(wanted_level)
    read = inputs(visit, readings, at=at)
    facts = facts_in_force(visit)
    found = {}
    for key in groups_of(readings, facts):
        bowl, _from_last = starting_values.bowl_grams(visit, key, facts)
        zone = read[zones.Group(key).last]
        found[key] = plan(visit, key, zone, bowl_grams=float(bowl), wanted_level=wish)
    return found


def whole_head(visit: Visit, plans: Mapping[str, Plan]) -> HeadPlan:
    """Return the places of the whole head, over the groups that were planned."""
    start = {key: plan.suggestion.start for key, plan in plans.items()}
    if len(plans) == 1:
        ((key, plan),) = plans.items()
        places = head_suggestion.head_of_one(key, plan.suggestion)
        return HeadPlan(places, start, plan.wanted_level)
    groups = {
        key: head_suggestion.HeadInput(plan.zone, plan.suggestion.bowl_grams)
        for key, plan in plans.items()
    }
    wish = next(iter(plans.values())).wanted_level
    with refusals.refused_as(NothingToMix):
        found = head_suggestion.suggest_head(line=visit.line, groups=groups, wanted_level=wish)
    return HeadPlan(found, start, wish)


def predict(
    visit: Visit,
    readings: Readings,
    key: str,
    *,
    parts: Mapping[int, Decimal | int],
    at: dt.datetime,
    minutes: int | None = None,
) -> Prediction:
    """Return what parts of shades (by id) give on a group of zones."""
    names = _names_in_use(visit.line)
    if not parts or not set(parts) <= set(names):
        raise NothingToMix(
            _("This line no longer has that shade. Choose again."), code="shade_gone"
        )
    zone = inputs(visit, readings, at=at)[zones.Group(key).last]
    named = {names[pk]: float(part) for pk, part in parts.items()}
    return predict_by_name(visit, zone, named, minutes=minutes)


@read_once
def _names_in_use(line: ProductLine) -> dict[int, str]:
    return {shade.pk: shade.name for shade in shades_in_use(line=line)}


def predict_by_name(
    visit: Visit,
    zone: suggestion.ZoneInput,
    parts: Mapping[str, float],
    *,
    minutes: int | None = None,
) -> Prediction:
    """Return what shades by name give, also those that are no longer on the shelf."""
    with refusals.refused_as(NothingToMix):
        return suggestion.predict_mix(line=visit.line, zone=zone, parts=parts, minutes=minutes)


def ranked(
    visit: Visit,
    readings: Readings,
    key: str,
    *,
    aim: float,
    bowl_grams: float,
    at: dt.datetime,
    count: int = 3,
    as_dark_as: float | None = None,
) -> list[suggestion.RankedMix]:
    """Return the short list for a place, best first, with reasons.

    `as_dark_as` is the level that it is to look like, where the whole head sets its depth.
    """
    zone = inputs(visit, readings, at=at)[zones.Group(key).last]
    with refusals.refused_as(NothingToMix):
        return suggestion.rank_for(
            line=visit.line,
            zone=zone,
            warmth_aim=aim,
            k=count,
            bowl_grams=bowl_grams,
            wanted_level=as_dark_as,
        )


def shared(
    visit: Visit,
    readings: Readings,
    aims: Mapping[str, float],
    *,
    bowl_grams: float,
    at: dt.datetime,
    as_dark_as: Mapping[str, float | None] | None = None,
) -> suggestion.CommonBowl:
    """Return the best one bowl for several groups, each with its warmth aim.

    `as_dark_as` are the levels that they are to look like, where the whole head sets them.
    """
    dark = as_dark_as or {}
    read = inputs(visit, readings, at=at)
    wishes = {
        key: suggestion.BowlWish(read[zones.Group(key).last], aim, dark.get(key))
        for key, aim in aims.items()
    }
    with refusals.refused_as(NothingToMix):
        return suggestion.share_bowl(line=visit.line, wishes=wishes, bowl_grams=bowl_grams)


def versions(visit: Visit) -> dict[str, str]:
    """Return the inputs of a prediction made now."""
    current = suggestion.versions(visit.line)
    return {"engine": current["engine_version"], "data": current["data_version"]}
