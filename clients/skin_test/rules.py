"""The rules of the skin allergy alert test, as one pure function of what is known.

Timing follows the salon's policy; see `salon.models.Policy` for where its defaults come
from. A reaction to one line also makes earlier tests of other lines void, since dyes share
their sensitisers (Regulation (EC) 1223/2009, Annex III: do not colour after a reaction).
"""

import calendar
import datetime as dt
import zoneinfo
from dataclasses import dataclass, field, replace
from enum import StrEnum

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from clients.models import PatchTest, PatchTestReading, ReadingOutcome
from salon.models import Policy


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
    colour could start if a test were placed now (or is under way), None where the client
    is blocked; `since` when a change made the test void; `unread` a newer test that still
    waits for its reading while an older one is clear.
    """

    code: Code
    at: dt.datetime
    test: PatchTest | None = None
    readable_at: dt.datetime | None = None
    clear_until: dt.datetime | None = None
    next_possible_at: dt.datetime | None = None
    since: dt.datetime | None = None
    unread: PatchTest | None = None
    why: str = ""

    @property
    def blocks(self) -> bool:
        """Whether colour may not start."""
        return self.code is not Code.CLEAR

    @property
    def comes_too_late(self) -> bool:
        """Whether the test under way, or one placed now, is too late for this start."""
        return bool(self.blocks and self.next_possible_at and self.next_possible_at > self.at)

    @property
    def label(self) -> str:
        """The state in a word or two."""
        return {
            Code.NONE: _("No patch test"),
            Code.WAITING: _("Test running"),
            Code.READY: _("Ready to read"),
            Code.CLEAR: _("Test clear"),
            Code.EXPIRED: _("Test expired"),
            Code.REACTED: _("Reacted: no colour"),
            Code.VOID: _("Test no longer counts"),
        }[self.code]

    @property
    def reason(self) -> str:
        """The state as a sentence that says what to do."""
        when = {
            "readable": _when(self.readable_at),
            "until": _when(self.clear_until),
            "void": self._void_reason,
        }
        return {
            Code.NONE: _("No patch test on record for this line. Place one."),
            Code.WAITING: _("The patch test can be read from %(readable)s."),
            Code.READY: _("The patch test is due: look at the site and record what you see."),
            Code.CLEAR: _("The patch test is clear and valid until %(until)s."),
            Code.EXPIRED: _("The patch test ran out on %(until)s. Place a new one."),
            Code.REACTED: _(
                "The client reacted to this line. No colour; send them to a doctor or "
                "pharmacist."
            ),
            Code.VOID: "%(void)s",
        }[self.code] % when

    @property
    def _void_reason(self) -> str:
        if not (self.why and self.since):
            return _("Something has changed since the patch test. Place a new one.")
        day = date_format(timezone.localtime(self.since), "j F")
        return _(
            "%(why)s, %(day)s: the earlier patch test no longer counts. Place a new one."
        ) % {
            "why": self.why[:1].upper() + self.why[1:],
            "day": day,
        }

    @property
    def detail(self) -> str:
        """What else should be seen, beside the reason."""
        sentences = [self.test.late_note] if self.test else []
        if self.unread:
            sentences.append(_("A newer test has not been read yet. Look at its site too."))
        return " ".join(sentence for sentence in sentences if sentence)


@dataclass(frozen=True)
class Known:
    """What was on record at `at` about one person and one line, tests latest first."""

    tests: list[tuple[PatchTest, list[PatchTestReading]]]
    changed_at: list[dt.datetime]
    at: dt.datetime
    starts_at: dt.datetime
    zone: zoneinfo.ZoneInfo
    has_reacted: bool = False  # while colour of this line was on the hair
    causes: dict[dt.datetime, str] = field(default_factory=dict)  # of each change, in words


def evaluate(known: Known, policy: Policy) -> PatchState:
    """Return the state: a reaction comes first, then any clear test, then the latest one."""
    fresh = policy.usable_at(known.at)
    if known.has_reacted:
        last = known.tests[0][0] if known.tests else None
        return PatchState(Code.REACTED, known.starts_at, last)
    if not known.tests:
        return PatchState(Code.NONE, known.starts_at, next_possible_at=fresh)
    for test, readings in known.tests:
        if _has(readings, ReadingOutcome.REACTION):
            return PatchState(Code.REACTED, known.starts_at, test)
    each = [_of_one(test, readings, known, policy, fresh) for test, readings in known.tests]
    clear = next((state for state in each if state.code is Code.CLEAR), None)
    if clear is None:
        return each[0]
    newer = [t for t, r in known.tests if t.applied_at > clear.test.applied_at and not r]  # type: ignore[union-attr]
    return replace(clear, unread=newer[0] if newer else None)


def _of_one(
    test: PatchTest,
    readings: list[PatchTestReading],
    known: Known,
    policy: Policy,
    fresh: dt.datetime,
) -> PatchState:
    """Return what one test without a reaction says."""
    start = known.starts_at
    readable = policy.readable_at(test.applied_at)
    usable = policy.usable_at(test.applied_at)
    changes = [moment for moment in known.changed_at if moment > test.applied_at]
    if changes:
        since = max(changes)
        why = known.causes.get(since, "")
        return PatchState(Code.VOID, start, test, next_possible_at=fresh, since=since, why=why)
    if _has(readings, ReadingOutcome.NO_REACTION):
        until = add_months(test.applied_at, policy.patch_valid_months, known.zone)
        if start > until:
            return PatchState(
                Code.EXPIRED, start, test, clear_until=until, next_possible_at=fresh
            )
        code = Code.CLEAR if start >= usable else Code.WAITING
        possible = max(known.at, usable)
        return PatchState(code, start, test, usable, until, possible)
    if _has(readings, ReadingOutcome.NOT_RETURNED):
        return PatchState(Code.NONE, start, test, next_possible_at=fresh)
    code = Code.WAITING if known.at < readable else Code.READY
    return PatchState(code, start, test, readable, next_possible_at=max(known.at, usable))


def add_months(moment: dt.datetime, months: int, zone: dt.tzinfo = dt.UTC) -> dt.datetime:
    """Return the same local day and time so many months later, or that month's last day.

    Six months after 31 August is 28 February: never a day longer than six months.
    """
    local = moment.astimezone(zone)
    month = local.month - 1 + months
    year, month = local.year + month // 12, month % 12 + 1
    day = min(local.day, calendar.monthrange(year, month)[1])
    return local.replace(year=year, month=month, day=day).astimezone(dt.UTC)


def _has(readings: list[PatchTestReading], outcome: ReadingOutcome) -> bool:
    return any(reading.outcome == outcome for reading in readings)


def _when(moment: dt.datetime | None) -> str:
    return date_format(timezone.localtime(moment), "DATETIME_FORMAT") if moment else ""
