"""Bind the request to its salon and show times as the salon's clocks do."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponseBase
from django.utils import timezone


class SalonMiddleware:
    """Set `request.salon` from whoever is signed in, and activate its time zone."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        salon = request.user.salon if request.user.is_authenticated else None
        request.salon = salon  # type: ignore[attr-defined]
        if salon is None:
            return self.get_response(request)
        with timezone.override(salon.zone):
            return self.get_response(request)
