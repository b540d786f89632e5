"""A full login opens a sitting, wherever it comes from."""

from typing import Any

from django.http import HttpRequest
from django.utils import timezone

from salon import accounts
from salon.models import Staff
from salon.tablet import services, sitting
from salon.tablet.cookie import device_of


def open_sitting(sender: Any, request: HttpRequest, user: Staff, **kwargs: Any) -> None:
    """Answer `user_logged_in`, which only a password sends."""
    now = timezone.now()
    device = device_of(request, user.salon)
    sitting.open_full(request, user, device=device, at=now)
    accounts.note_place(request)
    services.welcome_back(staff=user, device=device, at=now)
