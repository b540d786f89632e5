"""Which records of a visit still count, and why the others no longer do."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial

from django.utils.translation import gettext as _

from consult import selectors, zones
from consult.agreement.snapshot import ReadingShown, of_reading
from consult.hair.stops import Stop, found_in
from consult.models import Choice, Formula, HairFacts, SignOff, StepKind, ZoneReading
from consult.visit.path import Step
from consult.visit.records import Records


@dataclass(frozen=True)
class Held:
    """The records in force; `missing` says by step what is missing, empty where nothing is."""

    readings: Mapping[str, ZoneReading]
    hair: HairFacts | None
    stops: Sequence[Stop]
    choice: Choice | None
    sign_off: SignOff | None
    formulas: Sequence[Formula]
    missing: Mapping[Step, str]
    lapsed: frozenset[Step] = field(default=frozenset())

    def first_missing(self, *, before: Step) -> str:
        """Return what is missing first of the steps before one, or an empty string."""
        for step, why in self.missing.items():
            if step == before:
                break
            if why:
                return why
        return ""


def of(records: Records) -> Held:
    """Return which records are in force."""
    readings = {row.zone: row for row in records.readings}
    hair = records.hair_facts[-1] if records.hair_facts else None
    choice = records.choices[-1] if records.choices else None
    signed = selectors.sign_off_of(choice)
    of_choice = partial(_formulas_of, records.formulas)
    missing = {
        Step.SAFETY: _safety(records),
        Step.HAIR: _hair(records, readings, hair),
        Step.CHOICE: _choice(choice, readings, hair),
    }
    holds = not missing[Step.HAIR] and not missing[Step.CHOICE]
    in_force = signed if holds else None
    formulas = of_choice(in_force)
    missing[Step.SIGN] = _sign_off(signed, in_force)
    missing[Step.FORMULA] = _formula(records, choice, in_force, formulas)
    had = {
        Step.SAFETY: _has_answers(records),
        Step.HAIR: bool(readings),
        Step.CHOICE: choice is not None,
        Step.SIGN: any(selectors.sign_off_of(choice_row) for choice_row in records.choices),
        Step.FORMULA: bool(records.formulas),
    }
    return Held(
        readings=readings,
        hair=hair,
        stops=found_in(records.pre_tests, hair),
        choice=choice,
        sign_off=in_force,
        formulas=formulas,
        missing=missing,
        lapsed=frozenset(step for step, why in missing.items() if why and had[step]),
    )


def _has_answers(records: Records) -> bool:
    return any(event.kind == "safety answered" for event in records.events)


def _safety(records: Records) -> str:
    if not _has_answers(records):
        return _("Ask the safety questions first.")
    if records.gate is not None and records.gate.can_ask_again:
        return _("One of today's answers rules out colour.")
    return ""


def _hair(records: Records, readings: Mapping[str, ZoneReading], hair: HairFacts | None) -> str:
    if set(readings) != set(zones.Zone.values) or hair is None:
        return _("Read the hair first.")
    lightened = any(
        step.kind == StepKind.LIGHTENING and step.ended_at > hair.recorded_at
        for step in records.steps
    )
    if lightened:
        return _("The hair was lightened after you read it. Read it again first.")
    return ""


def _choice(
    choice: Choice | None, readings: Mapping[str, ZoneReading], hair: HairFacts | None
) -> str:
    if choice is None:
        return _("The client has not chosen yet.")
    places = list(choice.places.all())
    if {place.zones for place in places} != set(selectors.groups_of(readings, hair)):
        return _("The hair was read again after the choice. The client chooses again.")
    for place in places:
        if any(_reads_otherwise(frozen, readings) for frozen in place.readings):
            return _("The hair was read again after the choice. The client chooses again.")
    return ""


def _reads_otherwise(frozen: ReadingShown, readings: Mapping[str, ZoneReading]) -> bool:
    """Return whether a zone now reads otherwise than the choice froze it."""
    row = readings.get(frozen["zone"])
    if row is None:
        return True
    return any(frozen.get(name, value) != value for name, value in of_reading(row).items())


def _sign_off(signed: SignOff | None, in_force: SignOff | None) -> str:
    if signed is None:
        return _("The choice is not signed yet. The client signs first.")
    if in_force is None:
        return _("What was signed no longer applies. The client chooses and signs again.")
    return ""


def _formulas_of(formulas: Sequence[Formula], signed: SignOff | None) -> list[Formula]:
    if signed is None:
        return []
    rows = [row for row in formulas if row.sign_off_id == signed.pk]
    return selectors.latest_of(sorted(rows, key=lambda row: -row.pk))


def _formula(
    records: Records,
    choice: Choice | None,
    signed: SignOff | None,
    formulas: Sequence[Formula],
) -> str:
    if not records.formulas:
        return _("Choose a formula first.")
    if signed is None or not formulas:
        return _("The formula belongs to an earlier choice. Choose one again.")
    places = choice.places.all() if choice else ()
    needed = selectors.zones_covered(place.zones for place in places)
    if not selectors.zones_covered(row.zones for row in formulas) >= needed:
        return _("Part of the hair has no formula yet.")
    return ""
