"""One's own account: signing in, the sessions that are open, and one-time passwords."""

import dataclasses
import datetime as dt
import hashlib
import re
from collections.abc import Callable

from django.contrib.auth.forms import AuthenticationForm
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.utils.translation import gettext as _

from salon import addresses, selectors
from salon.models import Staff

PLACE = "place"  # where a session was opened, in the session itself
# What somebody may open before they have set what they owe.
OPEN = frozenset(
    {
        "salon:account",
        "salon:second_factor",
        "salon:add_passkey",
        "salon:passkey_creation",
        "salon:passkey_options",
        "salon:sign_out",
        "salon:language",
        "salon:manifest",
        "salon:service_worker",
        "salon:offline",
        "salon:locked",
        "salon:lock",
        "salon:awake",
    }
)


class SignInForm(AuthenticationForm):
    """Name and password; a one-time password counts for some days only."""

    def confirm_login_allowed(self, user: Staff) -> None:
        super().confirm_login_allowed(user)
        until = user.one_time_until
        if until and until < timezone.now():
            raise ValidationError(
                _("This one-time password has expired. Ask an owner for another."),
                code="expired",
            )


class OwedMiddleware:
    """Lead whoever owes a password of their own or a second factor to the page for it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: object, args: object, kwargs: object
    ) -> HttpResponseBase | None:
        user, match = request.user, request.resolver_match
        if not isinstance(user, Staff) or match is None or match.view_name in OPEN:
            return None
        page = self._owed(request, user)
        if page is None:
            return None
        back = urlencode({"next": request.get_full_path()}) if request.method == "GET" else ""
        return redirect(f"{reverse(page)}?{back}")

    def _owed(self, request: HttpRequest, user: Staff) -> str | None:
        owes = (request.session.get("sitting") or {}).get("owes", "")
        if user.one_time_until or owes == "password":
            return "salon:account"
        return "salon:second_factor" if owes else None


@dataclasses.dataclass(frozen=True)
class OpenSession:
    """A session as its owner sees it. `mark` names it without being its key."""

    mark: str
    is_this: bool
    began_at: dt.datetime | None
    seen_at: dt.datetime | None
    where: str
    address: str
    is_by_pin: bool


def note_place(request: HttpRequest) -> None:
    """Keep in the session from where it was opened."""
    request.session[PLACE] = {
        "agent": request.headers.get("User-Agent", "")[:200],
        "address": addresses.client_address(request) or "",
    }


def mark_of(key: str) -> str:
    """Return a name for a session that opens nothing."""
    return hashlib.sha256(f"session {key}".encode()).hexdigest()[:24]


def open_sessions(request: HttpRequest, staff: Staff) -> list[OpenSession]:
    """Return somebody's open sessions, this one first, then the last used."""
    found = []
    for row in selectors.sessions_of(staff=staff, at=timezone.now()):
        kept = row.get_decoded()
        sitting, place = kept.get("sitting") or {}, kept.get(PLACE) or {}
        found.append(
            OpenSession(
                mark=mark_of(row.session_key),
                is_this=row.session_key == request.session.session_key,
                began_at=_instant(sitting.get("opened_at")),
                seen_at=_instant(sitting.get("seen_at")),
                where=in_words(place.get("agent", "")),
                address=place.get("address", ""),
                is_by_pin=sitting.get("how") == "pin",
            )
        )
    seen = {
        session.mark: session.seen_at.timestamp() if session.seen_at else 0.0
        for session in found
    }
    return sorted(found, key=lambda one: (not one.is_this, -seen[one.mark]))


def in_words(agent: str) -> str:
    """Return a browser's own description in words that its owner recognises."""
    systems = {
        "iPad": "iPad", "iPhone": "iPhone", "Android": "Android", "Windows": "Windows",
        "CrOS": "ChromeOS", "Mac OS X": "Mac", "Linux": "Linux",
    }  # fmt: skip
    browsers = {
        r"Edg\w*/": "Edge", r"OPR/": "Opera", r"Firefox/|FxiOS/": "Firefox",
        r"Chrome/|Chromium/|CriOS/": "Chrome", r"Safari/": "Safari",
    }  # fmt: skip
    system = next((name for word, name in systems.items() if word in agent), "")
    browser = next((name for word, name in browsers.items() if re.search(word, agent)), "")
    return " · ".join(part for part in (browser, system) if part) or _("another device")


def _instant(seconds: float | None) -> dt.datetime | None:
    if seconds is None:
        return None
    return dt.datetime.fromtimestamp(seconds, tz=dt.UTC)
