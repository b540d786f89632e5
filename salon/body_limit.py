"""How large a request may be: refused by its length, before a byte of it is kept."""

from collections.abc import Callable
from typing import Any, TypeVar

from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.utils.translation import gettext as _

View = TypeVar("View", bound=Callable[..., HttpResponseBase])
MB = 1024 * 1024


def takes_files(octets: int) -> Callable[[View], View]:
    """Return a decorator that lets a view receive files of so many bytes in all."""

    def decorate(view: View) -> View:
        view.most_octets = octets  # type: ignore[attr-defined]
        return view

    return decorate


class BodyLimitMiddleware:
    """Answer 413 to a body that is larger than its view takes.

    Django spools every file of a form to the disk before a view or the check of its token
    may look at it; this comes before both. Where no length is given Django reads nothing.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Callable[..., Any], args: Any, kwargs: dict[str, Any]
    ) -> HttpResponse | None:
        most: int = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
        if request.user.is_authenticated:
            most = getattr(view, "most_octets", most)
        if _length(request) <= most + MB:  # the form around the files
            return None
        reason = _("This is larger than the %(n)d MB that this page accepts.") % {
            "n": most // MB
        }
        response = render(request, "salon/too_large.html", {"reason": reason}, status=413)
        response["Connection"] = "close"
        return response


def _length(request: HttpRequest) -> int:
    try:
        return int(request.META.get("CONTENT_LENGTH") or 0)
    except ValueError:
        return 0
