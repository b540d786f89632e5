"""Writes of a reset by mail: that a link goes out, and the password that comes of it."""

import datetime as dt

from django.db import transaction

from salon import audit, passwords
from salon.mailing import letters
from salon.models import AuditEvent, Letter, Staff, StaffSession

MAILED = "reset link mailed"
MOST, WITHIN = 3, dt.timedelta(hours=1)  # links: nobody fills a colleague's mailbox


@transaction.atomic
def begin_reset(*, username: str, at: dt.datetime) -> Letter | None:
    """Queue a link for somebody, and put that on record; None where none goes.

    The answer is the same either way: a stranger learns no names.
    """
    member = Staff.objects.select_for_update().filter(username=username, is_active=True).first()
    if member is None or not member.email or not member.has_usable_password():
        return None
    lately = AuditEvent.objects.filter(
        kind=MAILED, target_id=str(member.pk), salon_id=member.salon_id, at__gt=at - WITHIN
    )
    if lately.count() >= MOST:
        return None
    audit.record_event(MAILED, target=member, by=None, at=at)
    return letters.post(kind="reset", about=member.pk, salon=member.salon, at=at, within=WITHIN)


@transaction.atomic
def finish_reset(*, member: Staff, password: str, at: dt.datetime) -> Staff:
    """Set the password that somebody chose behind their link; all their sessions end.

    A second factor is asked for at the next sign-in as ever.
    """
    member.set_password(password)
    member.one_time_until = None
    member.has_short_password = len(password) < passwords.LEAST
    member.save(update_fields=["password", "one_time_until", "has_short_password"])
    StaffSession.objects.filter(staff_id=member.pk).delete()
    audit.record_event("password reset by mail", target=member, by=None, at=at)
    return member
