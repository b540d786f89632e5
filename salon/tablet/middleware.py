"""Every request of someone signed in passes here: ended, locked, or opened by PIN only?"""

from collections.abc import Callable
from typing import Any

from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode

from salon import selectors
from salon.tablet import sitting
from salon.tablet.forms import UnlockForm
from salon.tablet.idle import is_background_request, seconds_idle
from salon.tablet.return_path import of_request

OPEN_WHEN_LOCKED = frozenset(
    {
        "salon:locked",
        "salon:lock",
        "salon:switch",
        "salon:awake",
        "salon:sign_in",
        "salon:second_step",
        "salon:passkey_options",
        "salon:passkey_sign_in",
        "salon:sign_out",
        "salon:manifest",
        "salon:service_worker",
        "salon:offline",
    }
)


class SittingMiddleware:
    """End sittings that are over, lock those left alone, and hold PINs to their limits."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Callable[..., Any], args: Any, kwargs: dict[str, Any]
    ) -> HttpResponse | None:
        match = request.resolver_match
        if not request.user.is_authenticated or match is None:
            return None
        now = timezone.now()
        held = sitting.read(request)
        if held is None or held.is_over(now) or _is_revoked(held):
            logout(request)
            request.salon = None  # type: ignore[attr-defined]
            return None
        if not _stays_open(request, held, now):
            is_open = match.view_name in OPEN_WHEN_LOCKED or hasattr(view, "open_when_locked")
            return None if is_open else _to_the_lock(request)
        roles: frozenset[str] = getattr(view, "allowed_roles", frozenset())
        is_short = held.how == sitting.PIN and request.user.role in roles
        if is_short and not getattr(view, "opens_by_pin", True):
            return _require_password(request)
        return None


def _is_revoked(held: sitting.Sitting) -> bool:
    if held.is_from_elsewhere and not sitting.is_opener_valid(held):
        return True  # the account that it came from: left, or has another password
    return held.device is not None and not selectors.is_enrolled(pk=held.device)


def _stays_open(request: HttpRequest, held: sitting.Sitting, now: Any) -> bool:
    """Note when someone last touched the screen; lock it when that is too long ago."""
    if held.is_locked:
        return False
    if held.seconds_left(now) > 0:
        idle = seconds_idle(request)
        seen_at = now.timestamp() - idle if idle is not None else held.seen_at
        if seen_at > held.seen_at + sitting.STEP_SECONDS:
            held.seen_at = seen_at
            sitting.keep(request, held)
        if held.seconds_left(now) > 0:
            return True
    sitting.lock(request)
    return False


def _to_the_lock(request: HttpRequest) -> HttpResponse:
    if is_background_request(request):
        # The page stays as it is and is covered (static/js/lock.js): nothing typed is lost.
        return HttpResponse(
            status=423, headers={"HX-Trigger": "sitting-locked", "Cache-Control": "no-store"}
        )
    back = urlencode({"next": of_request(request)})
    return redirect(f"{reverse('salon:locked')}?{back}")


def _require_password(request: HttpRequest) -> HttpResponse:
    user: Any = request.user
    needs_code = selectors.has_second_factor(staff=user)
    form = UnlockForm(
        needs_code=needs_code,
        has_passkey=selectors.has_passkey(staff=user),
        auto_id="ask_%s",
    )
    context = {"form": form, "next": of_request(request)}
    response = render(request, "salon/needs_password.html", context, status=403)
    response.headers["Cache-Control"] = "no-store"
    return response
