"""Calendars that may be read from outside."""

import datetime as dt

from django.db.models import QuerySet

from clients.messages.feed_tokens import hash_of
from clients.models import Appointment, CalendarFeed
from salon.models import Staff

_BACK = dt.timedelta(days=30)
_AHEAD = dt.timedelta(days=180)


def stylist_of(token: str) -> Staff | None:
    """Return whose calendar a token opens, or None."""
    feed = (
        CalendarFeed.objects.filter(
            token_hash=hash_of(token), revoked_at__isnull=True, stylist__is_active=True
        )
        .select_related("stylist__salon")
        .first()
    )
    return feed.stylist if feed else None


def feed_in_force(*, stylist: Staff) -> CalendarFeed | None:
    """Return the address that is in force."""
    return CalendarFeed.objects.filter(stylist=stylist, revoked_at__isnull=True).first()


def calendar_appointments(*, stylist: Staff, at: dt.datetime) -> QuerySet[Appointment]:
    """Return a month back and half a year ahead, cancelled ones too."""
    booked = Appointment.objects.filter(
        stylist=stylist, starts_at__gte=at - _BACK, starts_at__lt=at + _AHEAD
    )
    return booked.select_related("client", "service")
