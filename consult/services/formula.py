"""What will be mixed: decided by the stylist, under the client's signature."""

import datetime as dt
from collections.abc import Mapping, Sequence
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from consult import policies, selectors, zones
from consult.agreement import planning
from consult.agreement.deviation import strays
from consult.bench.reasons import Reason
from consult.hair import pretests, stops
from consult.models import ChosenPlace, Formula, FormulaLine, SignOff, Visit
from consult.services.steps import OutOfOrder, advance
from consult.visit.facts import VisitFacts
from consult.visit.loading import facts_of
from consult.visit.path import Act
from formulas import mixing
from formulas.mixing_rules import table_of
from formulas.models import Shade
from formulas.selectors import shades_in_use
from salon.models import Staff
from salon.refusals import Refused
from salon.selectors import policy_in_force


class FormulaRefused(Refused):
    """Raised when a formula is impossible, unsafe or not what was signed."""


class GateShut(Refused):
    """Raised when colour may not start, with the reasons and the next possible time."""


class PreTestMissing(Refused):
    """Raised where the hair may hold metal salts and was not tested for them."""


class StraysFromSignOff(FormulaRefused):
    """Raised when a mix would land away from the place that the client signed for."""


@transaction.atomic
def decide_formula(
    *,
    visit: Visit,
    zones_key: str,
    parts: Mapping[int, Decimal | int],
    source: str,
    bowl_grams: Decimal,
    by: Staff,
    at: dt.datetime,
    minutes: int | None = None,
    zone_minutes: Mapping[str, int] | None = None,
    developer_percent: Decimal | None = None,
    reasons: Sequence[Reason] = (),
    expected_version: int | None = None,
) -> Formula:
    """Add the next revision of a formula; earlier ones stay as they were.

    `parts` maps shades' ids to parts; `zone_minutes` the places of a common bowl that have
    it on for fewer minutes, put on last. Refused without a sign-off of the choice that
    stands, with a shut gate, and where the mix strays from what was signed.
    """
    policies.check_can_work_on(by=by, visit=visit)
    facts = check_may_mix(visit, at, act=Act.DECIDE)
    signed = facts.sign_off
    if signed is None:
        raise OutOfOrder(facts.why_not(Act.DECIDE), code=Act.DECIDE)
    places = _places_within(signed, zones_key)
    shades = _checked_shades(visit, parts)
    parts = {pk: parts[pk] for pk in shades}
    time = minutes or visit.line.processing_minutes
    early = _rinsed_early(places, zone_minutes or {}, time)
    readings = facts.readings
    predicted = {}
    for place in places:
        predicted[place.zones] = planning.predict(
            visit,
            readings,
            place.zones,
            parts=parts,
            minutes=early.get(place.zones, time),
            at=at,
        )
        reason = strays(signed=place.predicted, mix=predicted[place.zones])
        if reason:
            raise StraysFromSignOff(reason)
    strength = visit.line.developer_percent if developer_percent is None else developer_percent
    weights = _weighed(visit, parts, bowl_grams, strength)
    earlier = Formula.objects.filter(visit=visit, zones=zones_key).count()
    advance(
        visit,
        kind="formula decided",
        by=by,
        at=at,
        expected_version=expected_version,
        zones=zones_key,
        revision=earlier + 1,
    )
    versions = planning.versions(visit)
    formula = Formula.objects.create(
        visit=visit,
        sign_off=signed,
        line=visit.line,
        zones=zones_key,
        revision=earlier + 1,
        source=source,
        bowl_grams=bowl_grams,
        developer_grams=mixing.developer_grams(
            weights.total,
            ratio=visit.line.developer_ratio,
            scale_step=table_of(visit.salon).scale_step,
        ),
        developer_ratio=visit.line.developer_ratio,
        developer_percent=strength,
        processing_minutes=time,
        zone_minutes=early,
        predicted=predicted,
        reasons=list(reasons),
        engine_version=versions["engine"],
        data_version=versions["data"],
        policy_number=policy_in_force(salon=visit.salon).number,
        decided_at=at,
        decided_by=by,
    )
    for pk, grams in weights.grams:
        FormulaLine.objects.create(
            formula=formula,
            shade=shades[pk],
            shade_name=shades[pk].name,
            parts=parts[pk],
            grams=grams,
        )
    return formula


def _weighed(
    visit: Visit, parts: Mapping[int, Decimal | int], bowl_grams: Decimal, strength: Decimal
) -> mixing.Weights[int]:
    """Return the grams of each shade (by id) in a bowl of this weight with its developer."""
    ratio = visit.line.developer_ratio
    try:
        mixing.check_developer(strength, ratio=ratio)
        return mixing.parts_to_grams(
            parts,
            colour_grams=bowl_grams / (1 + ratio),
            scale_step=table_of(visit.salon).scale_step,
        )
    except mixing.MixingRefused as refusal:
        raise FormulaRefused.of(refusal) from refusal


def _rinsed_early(
    places: Sequence[ChosenPlace], wanted: Mapping[str, int], time: int
) -> dict[str, int]:
    """Return the places that a common bowl reaches last; one place has it the whole time."""
    known = {place.zones for place in places}
    early = {key: minutes for key, minutes in wanted.items() if minutes < time}
    if not set(early) <= known or any(minutes < 1 for minutes in early.values()):
        raise FormulaRefused(_("A bowl is for whole groups of zones, as signed."), code="zones")
    if early and set(early) == known:
        raise FormulaRefused(
            _("If every part needs less time, shorten the processing time instead."),
            code="all_early",
        )
    return early


def check_may_mix(visit: Visit, at: dt.datetime, *, act: Act = Act.MIX) -> VisitFacts:
    """Return the facts of a visit, or refuse: no signature in force, or a shut gate."""
    facts = facts_of(visit, at=at)
    if facts.gate is not None and not facts.gate.is_open:
        raise GateShut(facts.why_not(act), code=act)
    if facts.stops:
        raise stops.Stopped(facts.why_not(act), code=act)
    if pretests.is_incompatibility_due(visit, at=at):
        raise PreTestMissing(
            _(
                "There may be henna or metal salts on the hair. Do the incompatibility "
                "test first."
            )
        )
    if not facts.may(act):
        raise OutOfOrder(facts.why_not(act), code=act)
    return facts


def _places_within(signed: SignOff, zones_key: str) -> list[ChosenPlace]:
    members = set(zones.Group(zones_key).members)
    places = [
        p for p in signed.choice.places.all() if set(zones.Group(p.zones).members) <= members
    ]
    if not places or selectors.zones_covered(p.zones for p in places) != members:
        raise FormulaRefused(_("A bowl is for whole groups of zones, as signed."), code="zones")
    return places


def _checked_shades(visit: Visit, parts: Mapping[int, Decimal | int]) -> dict[int, Shade]:
    if not parts:
        raise FormulaRefused(_("A formula needs at least one shade."), code="no_shade")
    if any(part <= 0 for part in parts.values()):
        raise FormulaRefused(
            _("Parts must be above zero. Remove a shade that you do not want."),
            code="not_positive",
        )
    shades = {shade.pk: shade for shade in shades_in_use(line=visit.line) if shade.pk in parts}
    if len(shades) != len(parts):
        raise FormulaRefused(
            _("This line no longer has that shade. Choose again."), code="shade_gone"
        )
    return shades
