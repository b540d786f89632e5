"""What can be done in a visit now, and what is due next.

Nothing keeps a person from the safe act: once a bowl was mixed, the bench and the
result stay open whatever else is due, and what is on the hair can always be rinsed.
"""

from collections.abc import Mapping, Sequence

from django.utils.translation import gettext as _

from consult import selectors
from consult.models import ReactionKind
from consult.visit.bowls import BowlState, TonedGroup
from consult.visit.holding import Held
from consult.visit.path import BEFORE_MIXING, Act, Step
from consult.visit.records import Records

# Records on the way to a bowl, and those that follow one.
_WAY_TO_A_BOWL = {"hair read", "place chosen", "choice signed", "formula decided"}
_AFTER_A_BOWL = {"rinsed", "result seen"}


def refusals(
    records: Records, held: Held, bowls: Sequence[BowlState], toned: Sequence[TonedGroup]
) -> dict[Act, str]:
    """Return why each act is not possible now; those that are possible are left out."""
    if records.visit.has_ended:
        return dict.fromkeys(
            Act, _("This visit has ended. Its record can no longer be changed.")
        )
    shut = _shut(records, held)
    found = {
        Act.READ: "" if bowls else held.missing[Step.SAFETY],
        Act.CHOOSE: held.first_missing(before=Step.CHOICE) or _stopped(held),
        Act.SIGN: held.first_missing(before=Step.SIGN) or _stopped(held),
        Act.DECIDE: shut or held.first_missing(before=Step.FORMULA),
        Act.MIX: shut or held.first_missing(before=Step.FORMULA) or _no_formula(held),
        Act.START: shut or _none_waits(bowls),
        Act.RINSE: _none_runs(bowls),
        Act.REACT: "" if bowls else _("Mix a bowl first."),
        Act.SEE: _nothing_to_see(toned),
        Act.CLOSE: _why_not_closed(records, bowls, toned),
        Act.STOP: _why_not_stopped(records, bowls),
    }
    return {act: why for act, why in found.items() if why}


def is_open(
    step: Step,
    records: Records,
    held: Held,
    bowls: Sequence[BowlState],
    refused: Mapping[Act, str],
) -> bool:
    """Return whether a step's page can be worked on."""
    if records.visit.has_ended:
        return False
    if step is Step.CARD:
        return Act.CLOSE not in refused
    if bowls and step in {Step.HAIR, Step.BENCH, Step.RESULT}:
        return True
    return step is not Step.RESULT and not held.first_missing(before=step)


def due(
    records: Records,
    held: Held,
    bowls: Sequence[BowlState],
    toned: Sequence[TonedGroup],
    refused: Mapping[Act, str],
) -> Step | None:
    """Return the step that comes next; None once the visit has ended."""
    if records.visit.has_ended:
        return None
    if any(bowl.is_running for bowl in bowls):
        return Step.BENCH
    on_the_way = _next_before_the_result(held, bowls)
    if not toned and not records.reaction:
        return on_the_way or Step.BENCH
    if on_the_way and _needs_another_bowl(records, held, toned):
        return on_the_way
    return Step.CARD if Act.CLOSE not in refused else Step.RESULT


def _needs_another_bowl(records: Records, held: Held, toned: Sequence[TonedGroup]) -> bool:
    """Return whether some of the hair is still to be toned, or toned again."""
    if records.reaction or _shut(records, held):
        return False
    touched = selectors.zones_covered(group.zones for group in toned)
    wanted = {zone for zone, row in held.readings.items() if row.is_toned}
    return bool(wanted - touched) or _was_planned_since(records)


def _next_before_the_result(held: Held, bowls: Sequence[BowlState]) -> Step | None:
    """Return the first step that does not hold; the bench where a formula was not used."""
    for step in BEFORE_MIXING:
        if held.missing[step]:
            return step
    used = {bowl.formula.pk for bowl in bowls if bowl.is_rinsed}
    return None if {row.pk for row in held.formulas} <= used else Step.BENCH


def _was_planned_since(records: Records) -> bool:
    """Return whether a further bowl was worked towards since the last one was rinsed."""
    kinds = [
        event.kind for event in records.events if event.kind in _WAY_TO_A_BOWL | _AFTER_A_BOWL
    ]
    return bool(kinds) and kinds[-1] in _WAY_TO_A_BOWL


def _stopped(held: Held) -> str:
    return " ".join(f"{stop.reason} {stop.advice}" for stop in held.stops)


def _shut(records: Records, held: Held) -> str:
    """Return why no colour may go on the hair, whatever was signed."""
    if records.reaction:
        return _("Reaction: no more colour today.")
    gate = records.gate
    if gate is not None and not gate.is_open:
        return " ".join(reason.text for reason in gate.reasons)
    return _stopped(held)


def _no_formula(held: Held) -> str:
    return "" if held.formulas else held.missing[Step.FORMULA]


def _none_waits(bowls: Sequence[BowlState]) -> str:
    return "" if any(not bowl.was_on for bowl in bowls) else _("There is no bowl to apply.")


def _none_runs(bowls: Sequence[BowlState]) -> str:
    return "" if any(bowl.is_running for bowl in bowls) else _("No clock is running.")


def _nothing_to_see(toned: Sequence[TonedGroup]) -> str:
    if any(not group.is_running for group in toned):
        return ""
    return _("Rinse first.") if toned else _("Nothing has been on the hair yet.")


def _why_not_closed(
    records: Records, bowls: Sequence[BowlState], toned: Sequence[TonedGroup]
) -> str:
    if any(bowl.is_running for bowl in bowls):
        return _("There is colour on the hair: rinse first.")
    if records.reaction:
        described = records.reaction.kind == ReactionKind.SEEN
        return "" if described else _("Describe the reaction first.")
    if not toned or not all(group.is_result_current for group in toned):
        return _("Save the result of every zone first.")
    return ""


def _why_not_stopped(records: Records, bowls: Sequence[BowlState]) -> str:
    if records.reaction or any(bowl.was_on for bowl in bowls):
        return _("There was colour on the hair. Save the result and close the visit.")
    return ""
