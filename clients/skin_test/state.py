"""What the patch tests of a client and a line mean at a moment: computed, never stored.

The diary, the check-in and the start of a formula all ask this one module. The rules
themselves, free of the database, are in `clients.skin_test.rules`.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable

from django.db.models import Q
from django.utils.translation import gettext as _

from clients.models import (
    AlertCode,
    Answer,
    Client,
    ClientAlert,
    PatchTest,
    PatchTestReading,
    ReadingOutcome,
    SafetyAnswer,
)
from clients.models.client import searchable
from clients.people import person
from clients.skin_test.rules import Code, Known, PatchState, add_months, evaluate
from clients.skin_test.safety import BY_KEY, VOIDING
from formulas.models import ProductLine
from salon.models import Policy
from salon.selectors import policy_in_force

__all__ = ["Code", "PatchState", "add_months", "patch_state", "patch_states"]

_LONGEST_MONTH = dt.timedelta(days=31)
Pair = tuple[int, int]
# What reacted on the hair: a line of this salon, or the name of one in another salon.
Reacted = tuple[int | str, dt.datetime]


def patch_state(
    *,
    client: Client,
    line: ProductLine,
    at: dt.datetime,
    starts_at: dt.datetime | None = None,
    policy: Policy | None = None,
    entries: dict[int, int] | None = None,
) -> PatchState:
    """Return the state of one client and line, as known at `at`.

    `starts_at` is the moment colour would start, where that is later than `at`; `entries`
    those of the client's person, where they are known already.
    """
    pair = (client.pk, line.pk)
    moments = {pair: starts_at} if starts_at else None
    found = patch_states(
        [(client, line)], at=at, policy=policy, moments=moments, entries=entries
    )
    return found[pair]


def patch_states(
    pairs: Iterable[tuple[Client, ProductLine]],
    *,
    at: dt.datetime,
    policy: Policy | None = None,
    moments: dict[Pair, dt.datetime] | None = None,
    entries: dict[int, int] | None = None,
) -> dict[Pair, PatchState]:
    """Return the states of many pairs by (client id, line id), in five queries.

    `moments` may give a pair a moment of its own, such as the start of its appointment.
    What was recorded after `at` is never taken into account.
    """
    wanted = {(client.pk, line.pk): (client, line) for client, line in pairs}
    if not wanted:
        return {}
    salon = next(iter(wanted.values()))[0].salon  # one for all: asked for once
    policy = policy or policy_in_force(salon=salon)
    if entries is None:
        entries = person.entries_of(client for client, _line in wanted.values())
    tests, readings = _records(entries, at)
    reactions = _reactions(tests, readings)
    doubtful = person.unconfirmed(entries) if _is_merged(entries) else set()
    counted = {
        root: [test for test in of_person if _counts(test, readings[test.pk], doubtful)]
        for root, of_person in tests.items()
    }
    voided = _voided(entries, _earliest_to_void(counted, at, policy), at)
    on_hair = _on_hair(entries, at)
    for root, seen in on_hair.items():
        reactions[root] += seen
    states = {}
    for pair, (client, line) in wanted.items():
        root = person.root_id(client)
        causes = dict(voided[root])
        causes |= {
            moment: _("reaction to another line")
            for other, moment in reactions[root]
            if other != line.pk
        }
        if line.composition_changed_at and line.composition_changed_at <= at:
            causes[line.composition_changed_at] = _("new composition of the line")
        known = Known(
            tests=[
                (test, readings[test.pk])
                for test in counted.get(root, [])
                if test.line_id == line.pk
            ],
            changed_at=list(causes),
            causes=causes,
            at=at,
            starts_at=max(at, (moments or {}).get(pair, at)),
            zone=salon.zone,
            has_reacted=any(
                other in {line.pk, searchable(line.name)} for other, _seen in on_hair[root]
            ),
        )
        states[pair] = evaluate(known, policy)
    return states


def _records(
    entries: dict[int, int], at: dt.datetime
) -> tuple[dict[int, list[PatchTest]], dict[int, list[PatchTestReading]]]:
    """Return tests by person, the latest first, and readings by test."""
    tests: dict[int, list[PatchTest]] = defaultdict(list)
    for test in PatchTest.objects.filter(client__in=entries, applied_at__lte=at).order_by(
        "-applied_at", "-pk"
    ):
        tests[entries[test.client_id]].append(test)
    readings: dict[int, list[PatchTestReading]] = defaultdict(list)
    for reading in PatchTestReading.objects.filter(
        test__client__in=entries, read_at__lte=at
    ).order_by("read_at", "pk"):
        readings[reading.test_id].append(reading)
    return tests, readings


def _voided(
    entries: dict[int, int], since: dt.datetime, at: dt.datetime
) -> dict[int, dict[dt.datetime, str]]:
    """Return, by person, when an answer after a moment voided the tests before it, and why."""
    found: dict[int, dict[dt.datetime, str]] = defaultdict(dict)
    # As plain values: a full day has thousands, and their notes would be opened in vain.
    answers = SafetyAnswer.objects.order_by().filter(
        client__in=entries,
        question__in=VOIDING,
        answered_at__gt=since,
        answered_at__lte=at,
    )
    # Encrypted, so no query can ask for it; of the few that void, the rest is read then.
    voiding = [pk for pk, answer in answers.values_list("pk", "answer") if answer == Answer.YES]
    if voiding:
        for client_id, question, answered_at in SafetyAnswer.objects.filter(
            pk__in=voiding
        ).values_list("client_id", "question", "answered_at"):
            found[entries[client_id]][answered_at] = str(BY_KEY[question].short)
    return found


def _earliest_to_void(
    tests: dict[int, list[PatchTest]], at: dt.datetime, policy: Policy
) -> dt.datetime:
    """Return when the oldest test was applied whose state an answer after it can change.

    It is the latest of its line, which says what the state is, or it may still be clear.
    """
    may_be_clear = at - _LONGEST_MONTH * policy.patch_valid_months
    oldest = at
    for of_person in tests.values():
        lines = set()
        for test in of_person:  # latest first
            if test.line_id not in lines or test.applied_at >= may_be_clear:
                oldest = min(oldest, test.applied_at)
            lines.add(test.line_id)
    return oldest


def _is_merged(entries: dict[int, int]) -> bool:
    return any(entry != root for entry, root in entries.items())


def _counts(test: PatchTest, readings: list[PatchTestReading], doubtful: set[int]) -> bool:
    """Return whether a test counts: a reaction always, the rest of the person's own body."""
    reacted = any(reading.outcome == ReadingOutcome.REACTION for reading in readings)
    return reacted or test.client_id not in doubtful


def _on_hair(entries: dict[int, int], at: dt.datetime) -> dict[int, list[Reacted]]:
    """Return, by person, which line reacted while it was on the hair, and when.

    A reaction in another salon counts as one here: to the line of that name, and against
    every earlier test.
    """
    found: dict[int, list[Reacted]] = defaultdict(list)
    alerts = ClientAlert.objects.filter(
        Q(line__isnull=False) | Q(code=AlertCode.REACTED_THERE),
        client__in=entries,
        lifts__isnull=True,
        lifted_by__isnull=True,
        recorded_at__lte=at,
    )
    elsewhere: list[int] = []
    for pk, client, line, seen_at in alerts.values_list("pk", "client", "line", "recorded_at"):
        if line is None:
            elsewhere.append(pk)
        else:
            found[entries[client]].append((line, seen_at))
    if elsewhere:  # hardly ever: the name is encrypted, and asks for the client's key
        for alert in ClientAlert.objects.filter(pk__in=elsewhere):
            name = searchable(alert.details.get("line", ""))
            found[entries[alert.client_id]].append((name, alert.recorded_at))
    return found


def _reactions(
    tests: dict[int, list[PatchTest]], readings: dict[int, list[PatchTestReading]]
) -> dict[int, list[Reacted]]:
    """Return, by person, which line caused a reaction and when it was seen."""
    found: dict[int, list[Reacted]] = defaultdict(list)
    for root, of_client in tests.items():
        for test in of_client:
            found[root] += [
                (test.line_id, reading.read_at)
                for reading in readings[test.pk]
                if reading.outcome == ReadingOutcome.REACTION
            ]
    return found
