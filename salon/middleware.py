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


class ScriptedFormMiddleware:
    """Tell a script that sent a form where to go on, instead of leading it there.

    A script that followed a redirect itself would fetch the next page without showing it, and
    use up what that page has to say. It asks with the header `X-Scripted`.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        if "X-Scripted" in request.headers and response.status_code in {301, 302, 303}:
            response.status_code = 204
            response.headers["X-Location"] = response.headers["Location"]
            del response.headers["Location"]
        return response
