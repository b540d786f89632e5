"""Writes of patch tests: placed, read, and read again when a reaction comes late."""

import datetime as dt

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from clients.models import AlertKind, Client, PatchTest, PatchTestReading, ReadingOutcome
from clients.policies import check_can_work_at_desk
from clients.services.register import raise_alert
from formulas.models import ProductLine
from salon import audit
from salon.models import Staff
from salon.selectors import policy_in_force


class ReadingRefused(Exception):
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
) -> PatchTest:
    """Record that a test was placed."""
    check_can_work_at_desk(client, line, by=by)
    if applied_at > at:
        raise ValidationError({"applied_at": _("This lies in the future. Place it first.")})
    test = PatchTest(
        client=client,
        line=line,
        site=site,
        site_number=site_number,
        batch=batch.strip(),
        applied_at=applied_at,
        applied_by=by,
        recorded_at=at,
    )
    test.full_clean()
    test.save()
    audit.record_event("patch test placed", target=test, by=by, at=at, line=line.pk)
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
        raise ReadingRefused(_("A reading cannot come before the test was placed."))
    if seen_at > at:
        raise ReadingRefused(_("This lies in the future. Read the test first."))
    if outcome == ReadingOutcome.NO_REACTION and seen_at < due_at:
        when = date_format(timezone.localtime(due_at), "DATETIME_FORMAT")
        raise ReadingRefused(
            _("Too early to be clear: this test can be read from %(when)s.") % {"when": when}
        )
    reading = PatchTestReading(
        test=test,
        applied_at=test.applied_at,
        outcome=outcome,
        signs=signs.strip(),
        read_at=seen_at,
        read_by=by,
    )
    reading.full_clean()
    reading.save()
    audit.record_event("patch test read", target=test, by=by, at=at)
    if outcome == ReadingOutcome.REACTION:
        text = _("Reacted to a patch test: %(line)s") % {"line": test.line}
        raise_alert(client=test.client, kind=AlertKind.REACTION, text=text, by=by, at=at)
    return reading
