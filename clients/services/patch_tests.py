"""Writes of patch tests: placed, read, and read again when a reaction comes late."""

import datetime as dt

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from clients.models import (
    AlertCode,
    AlertKind,
    Client,
    PatchTest,
    PatchTestReading,
    ReadingOutcome,
)
from clients.people import person
from clients.policies import check_can_work_at_desk
from clients.services.health_consent import take_health_consent
from clients.services.register import raise_alert
from clients.skin_test.state import Code, patch_state
from clients.vouching import check_vouched
from formulas.models import ProductLine
from salon import audit
from salon.models import FREE_ENTRY, Staff
from salon.policies import is_owner
from salon.refusals import Refused
from salon.selectors import policy_in_force

SITTING = dt.timedelta(hours=12)  # as long as a sign-in lasts


class PlacingRefused(Refused):
    """Raised when a test must not be placed on this client."""


class ReadingRefused(Refused):
    """Raised when a reading cannot be true yet."""


@transaction.atomic
def place_patch_test(
    *,
    client: Client,
    line: ProductLine,
    site: str,
    batch: str,
    applied_at: dt.datetime,
    by: Staff,
    at: dt.datetime,
    site_number: int = 1,
    late_reason: str = "",
    witness: Staff | None = None,
    agreed_by: str | None = None,
) -> PatchTest:
    """Record that a test was placed.

    Entered later than it was placed, it needs a reason and an owner or a second person.
    """
    check_can_work_at_desk(client, line, by=by)
    client = person.root(client)
    take_health_consent(client=client, agreed_by=agreed_by, by=by, at=at)
    if applied_at > at:
        raise ValidationError(
            {"applied_at": _("This is in the future. Place the test first, then record it.")}
        )
    is_late = at - applied_at > FREE_ENTRY
    if is_late:
        check_vouched(by=by, witness=witness, reason=late_reason)
    state = patch_state(client=client, line=line, at=at)
    if state.code is Code.REACTED and not is_owner(line, by=by):
        raise PlacingRefused(
            _("The client reacted to this line. Only the owner can have it tested again.")
        )
    test = PatchTest(
        client=client,
        line=line,
        site=site,
        site_number=site_number,
        batch=batch.strip(),
        applied_at=applied_at,
        applied_by=by,
        recorded_at=at,
        late_reason=late_reason.strip() if is_late else "",
        witnessed_by=witness if is_late else None,
    )
    test.full_clean()
    test.save()
    audit.record_event(
        "patch test placed",
        target=test,
        by=by,
        at=at,
        line=line.pk,
        placed_at=applied_at.isoformat(),
        late=is_late,
        witness=witness.pk if is_late and witness else None,
    )
    return test


@transaction.atomic
def record_patch_test_reading(
    *,
    test: PatchTest,
    outcome: str,
    by: Staff,
    at: dt.datetime,
    read_at: dt.datetime | None = None,
    signs: str = "",
) -> PatchTestReading:
    """Record what was seen. A reaction may be seen at any time, "none" only when it is due."""
    check_can_work_at_desk(test.client, by=by)
    seen_at = read_at or at
    due_at = policy_in_force(salon=test.client.salon).readable_at(test.applied_at)
    if seen_at <= test.applied_at:
        raise ReadingRefused(
            _("The test cannot be read before it was placed."), code="before_placing"
        )
    if seen_at > at:
        raise ReadingRefused(_("This is in the future. Read the test first."), code="future")
    if outcome == ReadingOutcome.NO_REACTION:
        _check_may_clear(test, seen_at, by=by, at=at)
    if outcome == ReadingOutcome.NO_REACTION and seen_at < due_at:
        when = date_format(timezone.localtime(due_at), "DATETIME_FORMAT")
        raise ReadingRefused(
            _("Too early to be clear: read this test from %(when)s."),
            code="too_early",
            when=when,
        )
    reading = PatchTestReading(
        test=test,
        applied_at=test.applied_at,
        outcome=outcome,
        signs=signs.strip(),
        read_at=seen_at,
        read_by=by,
        recorded_at=at,
    )
    reading.full_clean()
    reading.save()
    audit.record_event("patch test read", target=test, by=by, at=at)
    if outcome == ReadingOutcome.REACTION:
        raise_alert(
            client=test.client,
            kind=AlertKind.REACTION,
            code=AlertCode.PATCH_REACTION,
            details={"line": test.line.name},
            by=by,
            at=at,
        )
    return reading


def _check_may_clear(
    test: PatchTest, seen_at: dt.datetime, *, by: Staff, at: dt.datetime
) -> None:
    """Refuse a clear reading that was not seen just now, or by who entered the test late."""
    if at - seen_at > FREE_ENTRY:
        raise ReadingRefused(
            _("Save a clear reading while you look at the skin, not later."), code="too_late"
        )
    if test.is_entered_late and by == test.applied_by and at < test.recorded_at + SITTING:
        raise ReadingRefused(
            _("You entered this test after it was placed, so a colleague has to read it."),
            code="own_test",
        )
