"""Template tags of the diary: where a visit is booked."""

import datetime as dt

from django import template
from django.utils import timezone

from clients.diary import book_address as addresses
from clients.models import WaitingEntry

register = template.Library()


@register.simple_tag
def book_address(
    at: dt.datetime | None = None, day: dt.date | None = None, **rows: int | None
) -> str:
    """Return the address of the booking page for a client, a stylist or a moment."""
    local = timezone.localtime(at) if at is not None else None
    return addresses.book_address(at=local, day=day, **rows)


@register.simple_tag
def book_waiting(
    entry: WaitingEntry, stylist: int | None, at: dt.datetime | None = None
) -> str:
    """Return the address where someone of the waiting list gets a visit."""
    return book_address(
        at=at,
        client=entry.client_id,
        waiting=entry.pk,
        service=entry.service_id,
        line=entry.line_id,
        stylist=stylist,
    )
