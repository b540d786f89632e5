"""Where to go on after unlocking: only ever a page of this site."""

from urllib.parse import urlsplit

from django.http import HttpRequest
from django.utils.http import url_has_allowed_host_and_scheme


def is_safe(address: str) -> bool:
    """Return whether an address is a path of this site."""
    return address.startswith("/") and url_has_allowed_host_and_scheme(
        address, allowed_hosts=None
    )


def requested(request: HttpRequest) -> str:
    """Return the path that a form or a link names, else the start page."""
    address = request.POST.get("next") or request.GET.get("next") or "/"
    return address if is_safe(address) else "/"


def of_request(request: HttpRequest) -> str:
    """Return the page that a request comes from or asks for; a form's page, not its target."""
    if request.method in {"GET", "HEAD"}:
        return request.get_full_path()
    came = urlsplit(request.headers.get("Referer", ""))
    if came.netloc != request.get_host():
        return "/"
    address = came.path + (f"?{came.query}" if came.query else "")
    return address if is_safe(address) else "/"
