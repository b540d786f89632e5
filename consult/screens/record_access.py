"""Which pages show a client's records, and the note that somebody looked at one.

A view says what it shows where it says who may open it: `@allow(DESK, shows=...)`. A test asks
of every page with a record whether its view does or is left out on purpose. The note is written
before the page is given, so that nothing is shown that could not be noted.
"""

from collections.abc import Callable
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponseBase
from django.urls import ResolverMatch, reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from clients.models import AccessKind, Client
from clients.selectors import record_access as selectors
from clients.selectors.health_consent import any_withdrawn
from clients.services import note_access
from consult.models.visit import ENDED
from consult.screens import client_view
from salon.models import Role, Staff

# What a client who has withdrawn the consent shuts, but to owners.
SHUT = {AccessKind.VISIT, AccessKind.PAPER}
# How the record at the beginning of an address leads to the client.
LOOKUPS = {
    "clients": "pk",
    "visits": "visits__pk",
    "appointments": "appointments__pk",
    "patch-tests": "patch_tests__pk",
    "alerts": "alerts__pk",
    "hair-history": "hair_history__pk",
    "photos": "photos__key",
    "received-records": "received_records__pk",
}


class RecordAccessMiddleware:
    """Note each look of a member of staff at a client's record; a client's own is none."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        match = request.resolver_match
        kind = _shown_by(match)
        is_look = request.method == "GET" or kind == AccessKind.EXPORT
        if match is None or kind is None or not is_look or not _is_given(response):
            return response
        if isinstance(request.user, Staff) and not client_view.visit_shown(request):
            _note(request.user, kind, match.route, match.kwargs)
        return response

    def process_view(
        self, request: HttpRequest, view: object, args: object, kwargs: dict[str, Any]
    ) -> None:
        """Shut visits and papers whose client has withdrawn the consent, but to owners.

        A visit that is still open stays open: while colour is on the hair nothing shuts it.
        """
        match, by = request.resolver_match, request.user
        if match is None or _shown_by(match) not in SHUT or not isinstance(by, Staff):
            return
        target = match.route.split("/", maxsplit=1)[0]
        key = kwargs.get("pk")
        if by.role == Role.OWNER or key is None:
            return
        people = Client.objects.filter(**{LOOKUPS[target]: key})
        if target == "visits":
            people = Client.objects.filter(visits__pk=key, visits__status__in=ENDED)
        if any_withdrawn(people):
            raise PermissionDenied(
                _("The client has withdrawn the consent: only an owner can open this.")
            )


def _shown_by(match: ResolverMatch | None) -> AccessKind | None:
    """Return what of a client's records a view shows, if anything."""
    shows = getattr(match.func, "shows", "") if match else ""
    return AccessKind(shows) if shows else None


def _is_given(response: HttpResponseBase) -> bool:
    """Return whether what was asked for is shown, or is being prepared for who asked."""
    is_prepared = response.headers.get("Location") == reverse("salon:files")
    return response.status_code == 200 or is_prepared


def _note(by: Staff, kind: AccessKind, route: str, values: dict[str, object]) -> None:
    target = route.split("/", maxsplit=1)[0]
    key = values.get("pk", values.get("key", ""))
    named, now = {"kind": kind, "target": target, "target_id": str(key)}, timezone.now()
    if selectors.looked_just_now(by=by, at=now, **named):
        return
    client = selectors.client_of(LOOKUPS[target], key) if key != "" else None
    note_access(client=client, by=by, at=now, **named)
