"""The second factor as a backend of Django's own `authenticate`.

So that wrong codes are throttled as wrong passwords are, by name and address together.
"""

from typing import Any

from django.contrib.auth import authenticate
from django.contrib.auth.backends import BaseBackend
from django.http import HttpRequest
from django.utils import timezone

from salon.models import Staff
from salon.passkeys.backend import is_passkey
from salon.second_factor import services


class CodeBackend(BaseBackend):
    """Knows somebody by a code of theirs; asked only once the password was right."""

    def authenticate(  # type: ignore[override]
        self, request: HttpRequest | None, username: str | None = None, code: str | None = None
    ) -> Staff | None:
        if not username or not code:
            return None
        staff = Staff.objects.filter(username=username, is_active=True).first()
        if staff and services.accept_code(staff=staff, code=code, at=timezone.now()):
            return staff
        return None


def is_second(request: HttpRequest, staff: Any, *, code: str, passkey: str) -> bool:
    """Return whether this is a second factor of theirs: a passkey, else a code."""
    if passkey:
        return is_passkey(request, staff, passkey)
    return is_code(request, staff, code)


def is_code(request: HttpRequest, staff: Any, code: str) -> bool:
    """Return whether a code is theirs; it is used up by that."""
    known = authenticate(request, username=staff.username, code=code)
    return known is not None and known.pk == staff.pk
