"""What a page of a visit hands to its scripts."""

from typing import Any

from django import template
from django.utils import timezone

from consult.models import Visit
from consult.screens import drafts

SEAT_COOKIE = "seat"  # set by static/js/presence.js, so that the page's own seat is left out

register = template.Library()


@register.simple_tag(takes_context=True)
def local_secret(context: dict[str, Any]) -> str:
    """Return what the key for unsent text is made from; it dies with the session."""
    return drafts.local_secret(context["request"])


@register.simple_tag(takes_context=True)
def others_here(context: dict[str, Any], visit: Visit) -> list[str]:
    """Say who else has the visit open: the notice is in the page when it is painted."""
    request = context["request"]
    seat = request.COOKIES.get(SEAT_COOKIE, "")
    return drafts.others_on(visit, seat=seat, by=request.user, at=timezone.now())
