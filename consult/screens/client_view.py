"""The tablet in the client's hands: one visit's choice and signature, and nothing else.

While a session is in the client view every other page leads back to it. Only the PIN or the
password of whoever is signed in ends it; signing out ends it too, and shows no record. The lock
covers it like any page, and unlocking leads back to it.
"""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse

from salon import languages
from salon.tablet import sitting

KEY = "client_view"
LANGUAGE = "client_view_language"
PLACE = "client_choice"  # the only step that keeps a draft: a place on the line, no words
OPEN_PAGES = frozenset(
    {
        "consult:client_choice",
        "consult:client_sign",
        "consult:client_done",
        "consult:leave_client_view",
        "salon:sign_in",
        "salon:passkey_options",
        "salon:sign_out",
        "salon:locked",
        "salon:lock",
        "salon:awake",
        "salon:manifest",
        "salon:service_worker",
        "salon:offline",
        "clients:stop_reminders",
    }
)


def enter(request: HttpRequest, visit_id: int, *, language: str) -> None:
    """Hand the tablet over, in the client's language."""
    request.session[KEY] = visit_id
    sitting.note(request, is_handed_out=True)
    request.session[LANGUAGE] = language


def leave(request: HttpRequest) -> None:
    """Take the tablet back."""
    request.session.pop(KEY, None)
    sitting.note(request, is_handed_out=False)
    request.session.pop(LANGUAGE, None)


def visit_shown(request: HttpRequest) -> int | None:
    """Return the id of the visit that the client is shown, or None."""
    return request.session.get(KEY)


class ClientViewMiddleware:
    """Lead every page but the client's own back to the client view."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        if not request.user.is_authenticated or visit_shown(request) is None:
            return self.get_response(request)
        with languages.speaking(request.session.get(LANGUAGE, "")) as language:
            response = self.get_response(request)
            response.headers.setdefault("Content-Language", language)
            return response

    def process_view(
        self, request: HttpRequest, view: Callable[..., Any], args: Any, kwargs: dict[str, Any]
    ) -> HttpResponse | None:
        if not request.user.is_authenticated:
            return None
        shown = visit_shown(request)
        match = request.resolver_match
        if shown is None or match is None:
            return None
        is_allowed = match.namespace != "consult" or kwargs.get("pk") == shown
        keeps_place = match.view_name == "consult:draft" and request.POST.get("step") == PLACE
        if is_allowed and (match.view_name in OPEN_PAGES or keeps_place):
            return None
        address = reverse("consult:client_choice", args=[shown])
        if request.headers.get("HX-Request"):
            return HttpResponse(status=204, headers={"HX-Redirect": address})
        return redirect(address)
