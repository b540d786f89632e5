"""Which release answers, so that a page that is open notices a newer one."""

import hashlib
from collections.abc import Callable
from functools import cache
from pathlib import Path

from django.conf import settings
from django.http import HttpRequest, HttpResponseBase

HEADER = "X-Release"


@cache
def release() -> str:
    """Return what is the same in every process of a release and changes with the next."""
    return digest_of(settings.BASE_DIR)


def digest_of(base: Path) -> str:
    """Return a digest of what a page is drawn with: templates, styles, scripts, words."""
    found = hashlib.sha256()
    folders = ("templates", "static/css", "static/js", "salon/locale")
    for path in sorted(path for folder in folders for path in (base / folder).rglob("*.*")):
        if path.suffix in {".html", ".css", ".js", ".mo"}:
            found.update(f"{path.relative_to(base)}\n".encode())
            found.update(path.read_bytes())
    return found.hexdigest()[:16]


class ReleaseMiddleware:
    """Name the release in what a page asks for by script."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        if request.user.is_authenticated:
            response.headers[HEADER] = release()
        return response
