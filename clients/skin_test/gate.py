"""Whether a colour service may start: the one answer that every screen shows.

A hard stop with its reasons and the next possible time. An owner's written override opens
it, but never after a reaction, under the youngest age, or against a forbidding answer.
"""

import datetime as dt
from dataclasses import dataclass

from django.utils.translation import gettext as _

from clients.models import (
    Answer,
    Appointment,
    Client,
    ClientMerge,
    PatchOverride,
    SafetyAnswer,
)
from clients.people import person
from clients.people.health_consent import is_withdrawn
from clients.skin_test.safety import BY_KEY, FORBIDDING
from clients.skin_test.state import Code, PatchState, patch_state
from formulas.models import ProductLine
from salon.models import Policy
from salon.replica import on_primary
from salon.selectors import policy_in_force


@dataclass(frozen=True)
class Reason:
    """Why the gate is shut."""

    code: str
    text: str
    may_be_overridden: bool


@dataclass(frozen=True)
class Gate:
    """The answer: open, or shut with reasons and the next possible time."""

    reasons: tuple[Reason, ...]
    state: PatchState
    next_possible_at: dt.datetime | None
    override: PatchOverride | None = None

    @property
    def is_open(self) -> bool:
        """Whether colour may start."""
        return not self.reasons

    @property
    def may_be_overridden(self) -> bool:
        """Whether an owner could open it in writing."""
        return bool(self.reasons) and all(r.may_be_overridden for r in self.reasons)

    @property
    def is_forbidden(self) -> bool:
        """Whether an answer, an age or a reaction forbids colour, whatever the test says."""
        return any(not reason.may_be_overridden for reason in self.reasons)

    @property
    def can_ask_again(self) -> bool:
        """Whether an answer is in the way that may be asked again today."""
        return any(reason.code.startswith("answer_") for reason in self.reasons)


@on_primary
def colour_gate(
    *,
    client: Client,
    line: ProductLine,
    at: dt.datetime,
    appointment: Appointment | None = None,
    policy: Policy | None = None,
) -> Gate:
    """Return whether colour of `line` may start for `client`, as known at `at`.

    With an appointment that is still to come, its start is the moment that counts.
    """
    policy = policy or policy_in_force(salon=client.salon)
    starts_at = max(at, appointment.starts_at) if appointment else at
    entries = person.entries_of([client])  # every part of the answer reads the same ones
    state = patch_state(
        client=client, line=line, at=at, starts_at=starts_at, policy=policy, entries=entries
    )
    override = (
        PatchOverride.objects.select_related("recorded_by")
        .filter(appointment=appointment, recorded_at__lte=at)
        .first()
        if appointment
        else None
    )
    reasons = [
        *_merge_reasons(entries, appointment),
        *_consent_reasons(entries),
        *_age_reasons(client, policy, starts_at),
        *(
            Reason(f"answer_{key}", str(BY_KEY[key].advice), False)
            for key in _forbidding_answers(entries, at)
        ),
    ]
    if state.blocks and not _covered(state, override):
        reasons.append(Reason(state.code, state.reason, state.code is not Code.REACTED))
    blocked = any(
        reason.code in {"under_age", "consent_withdrawn", Code.REACTED} for reason in reasons
    )
    return Gate(
        reasons=tuple(reasons),
        state=state,
        next_possible_at=None if blocked or not reasons else state.next_possible_at,
        override=override,
    )


def _covered(state: PatchState, override: PatchOverride | None) -> bool:
    """Return whether the override was written in knowledge of what was in the way."""
    if override is None or state.code is Code.REACTED:
        return False
    return state.since is None or state.since <= override.recorded_at


def _merge_reasons(entries: dict[int, int], appointment: Appointment | None) -> list[Reason]:
    """Return why an appointment that came by a merge may not rely on the other's test."""
    if appointment is None or len(entries) == 1:
        return []
    merges = ClientMerge.objects.filter(
        kept__in=entries, undone_at__isnull=True, confirmed_at__isnull=True
    )
    person_concerned = appointment.client
    stayed = (
        person_concerned.merged_into_id is not None and person_concerned.same_body_at is None
    )
    if not stayed and not any(appointment.pk in merge.moved_appointments for merge in merges):
        return []
    text = _(
        "This appointment came from another entry. Ask the owner or a second "
        "person to confirm that both are the same person."
    )
    return [Reason("same_body", text, False)]


def _consent_reasons(entries: dict[int, int]) -> list[Reason]:
    """Return why colour is not possible for who lets the salon keep no test and no answer."""
    if not is_withdrawn(entries):
        return []
    text = _(
        "The client has withdrawn the consent to keep health data. Without it colour is not "
        "possible."
    )
    return [Reason("consent_withdrawn", text, False)]


def _age_reasons(client: Client, policy: Policy, at: dt.datetime) -> list[Reason]:
    whole = person.root(client)
    age = whole.age_on(at.astimezone(client.salon.zone).date())
    if age is None:
        return [Reason("age_unknown", _("No birth date on record. Ask for it first."), False)]
    if age < policy.minimum_age:
        text = _("No colour under %(age)d.") % {"age": policy.minimum_age}
        return [Reason("under_age", text, False)]
    return []


def _forbidding_answers(entries: dict[int, int], at: dt.datetime) -> list[str]:
    """Return the forbidding questions whose latest answer is yes."""
    latest: dict[tuple[int, str], str] = {}
    doubtful = person.unconfirmed(entries) if len(entries) > 1 else set()
    for answer in SafetyAnswer.objects.filter(
        client__in=entries, question__in=FORBIDDING, answered_at__lte=at
    ).order_by("answered_at", "pk"):
        # An answer of another body can forbid, but never undoes one of this body.
        body = answer.client_id if answer.client_id in doubtful else 0
        latest[body, answer.question] = answer.answer
    return sorted({key for (_body, key), answer in latest.items() if answer == Answer.YES})
