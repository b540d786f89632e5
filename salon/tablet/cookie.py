"""The cookie by which an enrolled device is known."""

import hashlib

from django.conf import settings
from django.http import HttpRequest, HttpResponseBase

from salon import selectors
from salon.models import Device, Salon

# The longest that browsers keep one; renewed with every full login.
LIFE_SECONDS = 400 * 24 * 60 * 60


def hash_of(token: str) -> str:
    """Return what the salon keeps of a token: random and long, so a quick hash will do."""
    return hashlib.sha256(token.encode()).hexdigest()


def device_of(request: HttpRequest, salon: Salon) -> Device | None:
    """Return the enrolled device that the request comes from, or None."""
    token = request.COOKIES.get(settings.DEVICE_COOKIE_NAME, "")
    if not token or len(token) > 200:
        return None
    return selectors.device_in_force(salon=salon, token_hash=hash_of(token))


def give(response: HttpResponseBase, token: str) -> None:
    """Let the device keep its token; no script can read it."""
    response.set_cookie(
        settings.DEVICE_COOKIE_NAME,
        token,
        max_age=LIFE_SECONDS,
        path="/",
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )


def take_away(response: HttpResponseBase) -> None:
    """Let the device forget its token."""
    response.delete_cookie(settings.DEVICE_COOKIE_NAME, path="/", samesite="Lax")
