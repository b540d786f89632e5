"""Secret addresses of calendars: made, and taken back."""

import datetime as dt
import secrets

from django.db import transaction

from clients.messages.feed_tokens import hash_of
from clients.models import CalendarFeed
from clients.policies import check_can_have_calendar
from salon import audit
from salon.models import Staff


@transaction.atomic
def open_feed(*, by: Staff, at: dt.datetime) -> str:
    """Make a secret address for the actor's own calendar; the earlier one ends.

    The token is returned once and kept nowhere.
    """
    check_can_have_calendar(by=by)
    close_feeds(by=by, at=at)
    token = secrets.token_urlsafe(32)
    feed = CalendarFeed.objects.create(stylist=by, token_hash=hash_of(token), created_at=at)
    audit.record_event("calendar opened", target=feed, by=by, at=at)
    return token


@transaction.atomic
def close_feeds(*, by: Staff, at: dt.datetime) -> int:
    """Take the actor's secret addresses back."""
    check_can_have_calendar(by=by)
    closed = CalendarFeed.objects.filter(stylist=by, revoked_at__isnull=True)
    count = closed.update(revoked_at=at)
    if count:
        audit.record_event("calendar closed", target=by, by=by, at=at, count=count)
    return count
