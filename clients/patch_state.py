"""What the patch tests of a client and a line mean at a moment: computed, never stored.

The diary, the check-in and the start of a formula all ask this one module.
"""

import calendar
import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from clients.models import (
    Answer,
    Client,
    PatchTest,
    PatchTestReading,
    ReadingOutcome,
    SafetyAnswer,
)
from clients.safety import VOIDING
from formulas.models import ProductLine
from salon.models import Policy
from salon.selectors import policy_in_force


class Code(StrEnum):
    """The states that a client and a line can be in."""

    NONE = "none"
    WAITING = "waiting"
    READY = "ready"
    CLEAR = "clear"
    EXPIRED = "expired"
    REACTED = "reacted"
    VOID = "void"


@dataclass(frozen=True)
class PatchState:
    """The state at `at`, with what follows from it.

    `test` is the test that it stands on; `next_possible_at` the first moment at which
    colour could start if a test were placed at `at` (or is under way), None where the
    client is blocked.
    """

    code: Code
    at: dt.datetime
    test: PatchTest | None = None
    readable_at: dt.datetime | None = None
    clear_until: dt.datetime | None = None
    next_possible_at: dt.datetime | None = None

    @property
    def blocks(self) -> bool:
        """Whether colour may not start."""
        return self.code is not Code.CLEAR

    @property
    def label(self) -> str:
        """The state in a word or two."""
        return {
            Code.NONE: _("No patch test"),
            Code.WAITING: _("Test waiting"),
            Code.READY: _("Ready to read"),
            Code.CLEAR: _("Test clear"),
            Code.EXPIRED: _("Test expired"),
            Code.REACTED: _("Reacted: no colour"),
            Code.VOID: _("Test void"),
        }[self.code]

    @property
    def reason(self) -> str:
        """The state as a sentence that says what to do."""
        when = {
            "readable": _when(self.readable_at),
            "until": _when(self.clear_until),
        }
        return {
            Code.NONE: _("No patch test is on record for this line. Place one."),
            Code.WAITING: _("The patch test can be read from %(readable)s."),
            Code.READY: _("The patch test is due: look at the site and record the reading."),
            Code.CLEAR: _("The patch test is clear until %(until)s."),
            Code.EXPIRED: _("The patch test ran out on %(until)s. Place a new one."),
            Code.REACTED: _(
                "There was a reaction to this line. No colour; refer to a doctor or pharmacist."
            ),
            Code.VOID: _("Something changed since the patch test. Place a new one."),
        }[self.code] % when


def patch_state(
    *, client: Client, line: ProductLine, at: dt.datetime, policy: Policy | None = None
) -> PatchState:
    """Return the state of one client and line at `at`; three queries at most."""
    return patch_states([(client, line)], at=at, policy=policy)[(client.pk, line.pk)]


def patch_states(
    pairs: Iterable[tuple[Client, ProductLine]],
    *,
    at: dt.datetime,
    policy: Policy | None = None,
    moments: dict[tuple[int, int], dt.datetime] | None = None,
) -> dict[tuple[int, int], PatchState]:
    """Return the states of many pairs by (client id, line id), in three queries.

    `moments` may give a pair a moment of its own, such as the start of its appointment.
    What was recorded after `at` is never taken into account.
    """
    wanted = {(client.pk, line.pk): line for client, line in pairs}
    if not wanted:
        return {}
    policy = policy or policy_in_force(salon=next(iter(wanted.values())).salon)
    clients = {client for client, _line in wanted}
    tests: dict[tuple[int, int], list[PatchTest]] = defaultdict(list)
    for test in PatchTest.objects.filter(client__in=clients, applied_at__lte=at).order_by(
        "-applied_at", "-pk"
    ):
        tests[test.client_id, test.line_id].append(test)
    readings: dict[int, list[PatchTestReading]] = defaultdict(list)
    for reading in PatchTestReading.objects.filter(
        test__client__in=clients, read_at__lte=at
    ).order_by("read_at", "pk"):
        readings[reading.test_id].append(reading)
    voided: dict[int, dt.datetime] = {}
    for answer in SafetyAnswer.objects.filter(
        client__in=clients, question__in=VOIDING, answer=Answer.YES, answered_at__lte=at
    ).order_by("answered_at"):
        voided[answer.client_id] = answer.answered_at
    return {
        pair: _state(
            tests.get(pair, []),
            readings,
            voided.get(pair[0]),
            line,
            policy,
            recorded_at=at,
            at=(moments or {}).get(pair, at),
        )
        for pair, line in wanted.items()
    }


def _state(  # noqa: PLR0911  one return per state of the design
    tests: list[PatchTest],
    readings: dict[int, list[PatchTestReading]],
    voided_at: dt.datetime | None,
    line: ProductLine,
    policy: Policy,
    *,
    recorded_at: dt.datetime,
    at: dt.datetime,
) -> PatchState:
    lead = dt.timedelta(hours=policy.patch_lead_hours)
    read_after = dt.timedelta(hours=policy.patch_read_hours)
    if any(r.outcome == ReadingOutcome.REACTION for t in tests for r in readings[t.pk]):
        reacted = next(
            t
            for t in tests
            if any(r.outcome == ReadingOutcome.REACTION for r in readings[t.pk])
        )
        return PatchState(Code.REACTED, at, reacted)
    fresh = recorded_at + max(lead, read_after)
    if not tests:
        return PatchState(Code.NONE, at, next_possible_at=fresh)
    test = tests[0]
    readable = test.applied_at + read_after
    outcomes = [r.outcome for r in readings[test.pk]]
    changed = [m for m in (voided_at, line.composition_changed_at) if m is not None]
    if any(moment > test.applied_at for moment in changed):
        return PatchState(Code.VOID, at, test, next_possible_at=fresh)
    if ReadingOutcome.NO_REACTION in outcomes:
        until = add_months(test.applied_at, policy.patch_valid_months)
        if at > until:
            return PatchState(Code.EXPIRED, at, test, clear_until=until, next_possible_at=fresh)
        usable = max(test.applied_at + lead, readable)
        if at < usable:
            return PatchState(Code.WAITING, at, test, usable, next_possible_at=usable)
        return PatchState(
            Code.CLEAR, at, test, readable, clear_until=until, next_possible_at=at
        )
    if ReadingOutcome.NOT_RETURNED in outcomes:
        return PatchState(Code.NONE, at, test, next_possible_at=fresh)
    possible = max(readable, test.applied_at + lead)
    if recorded_at < readable:
        return PatchState(Code.WAITING, at, test, readable, next_possible_at=possible)
    return PatchState(
        Code.READY, at, test, readable, next_possible_at=max(possible, recorded_at)
    )


def add_months(moment: dt.datetime, months: int) -> dt.datetime:
    """Return the same day so many calendar months later, or that month's last day.

    Six months after 31 August is 28 February: never a day longer than six months.
    """
    month = moment.month - 1 + months
    year, month = moment.year + month // 12, month % 12 + 1
    day = min(moment.day, calendar.monthrange(year, month)[1])
    return moment.replace(year=year, month=month, day=day)


def _when(moment: dt.datetime | None) -> str:
    return date_format(timezone.localtime(moment), "DATETIME_FORMAT") if moment else ""
