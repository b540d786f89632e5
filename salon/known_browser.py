"""Browsers in which somebody has signed in before: their wrong tries are counted apart.

After the protocol "Slow Down Online Guessing Attacks with Device Cookies" of OWASP: whoever
types wrong passwords for a colleague elsewhere, or beside them in the same salon, does not
lock them out of their own browser. The cookie is signed, opens nothing, and names nobody.
"""

import secrets

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponse
from django.utils.crypto import salted_hmac

from salon.models import Staff

SALT = "salon.known_browser"
MOST = 20  # people of one browser
AGE = 180 * 24 * 60 * 60  # seconds


def counted_name(request: HttpRequest, credentials: dict[str, object] | None = None) -> str:
    """Return the name under which django-axes counts a try."""
    name = str((credentials or {}).get("username") or request.POST.get("username", ""))
    number, people = _read(request)
    return f"{name} {number}" if _mark(name) in people else name


def remember(request: HttpRequest, response: HttpResponse, staff: Staff) -> None:
    """Know this browser as one in which somebody has signed in."""
    number, people = _read(request)
    mine = _mark(staff.username)
    people = [mine, *(mark for mark in people if mark != mine)][:MOST]
    response.set_cookie(
        settings.KNOWN_BROWSER_COOKIE_NAME,
        signing.dumps([number or secrets.token_hex(8), people], salt=SALT),
        max_age=AGE,
        httponly=True,
        samesite="Lax",
        secure=not settings.LOCAL,
    )


def _read(request: HttpRequest) -> tuple[str, list[str]]:
    kept = request.COOKIES.get(settings.KNOWN_BROWSER_COOKIE_NAME, "")
    try:
        number, people = signing.loads(kept, salt=SALT, max_age=AGE)
    except (signing.BadSignature, ValueError):
        return "", []
    return number, people


def _mark(name: str) -> str:
    """Return a name as the cookie keeps it: nobody reads it there."""
    return salted_hmac(SALT, name, algorithm="sha256").hexdigest()[:16]
