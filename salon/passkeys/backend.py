"""A passkey as a backend of Django's own `authenticate`: failures are throttled as all are."""

from typing import Any

from django.contrib.auth import authenticate
from django.contrib.auth.backends import BaseBackend
from django.http import HttpRequest
from django.utils import timezone

from salon.models import Passkey, Staff
from salon.passkeys import ceremony, services


class PasskeyBackend(BaseBackend):
    """Knows somebody by what their passkey has signed."""

    def authenticate(  # type: ignore[override]
        self, request: HttpRequest | None, username: str | None = None, passkey: str = ""
    ) -> Staff | None:
        if request is None or not passkey:
            return None
        now = timezone.now()
        known = _known(passkey)
        if known is None or known.staff.username != username or not known.staff.is_active:
            return None
        counter = ceremony.finish_signing(request, known, passkey, at=now)
        if counter is None or not services.accept_passkey(
            passkey=known, sign_count=counter, at=now
        ):
            return None
        return known.staff


def whose(request: HttpRequest, answer: str) -> Staff | None:
    """Return whose passkey has given this answer, or None where it does not hold."""
    known = _known(answer)
    name = known.staff.username if known else ""
    found: Any = authenticate(request, username=name, passkey=answer)
    return found if isinstance(found, Staff) else None


def is_passkey(request: HttpRequest, staff: Any, answer: str) -> bool:
    """Return whether a passkey of theirs has given this answer."""
    known = _known(answer)
    if known is not None and known.staff_id != staff.pk:
        return False
    found = authenticate(request, username=staff.username, passkey=answer)
    return found is not None and found.pk == staff.pk


def owner_name(answer: str) -> str:
    """Return who signs in by the passkey that an answer names; empty where none is known."""
    known = _known(answer)
    return known.staff.username if known else ""


def _known(answer: str) -> Passkey | None:
    named = ceremony.named_by(answer)
    found = Passkey.objects.filter(credential_id=named).select_related("staff__salon")
    return found.first() if named else None
