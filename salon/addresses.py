"""The address that a request comes from, also behind proxies."""

from ipaddress import ip_address

from django.conf import settings
from django.http import HttpRequest


def client_address(request: HttpRequest) -> str | None:
    """Return whose sign-ins are counted together.

    Each proxy appends the address that it sees to X-Forwarded-For, so the last
    `PROXY_COUNT` of them can be trusted and whatever is before them is anybody's claim.
    """
    direct = request.META.get("REMOTE_ADDR")
    count = settings.PROXY_COUNT
    named = request.META.get("HTTP_X_FORWARDED_FOR", "").split(",")
    if count < 1 or len(named) < count:
        return direct
    try:
        return str(ip_address(named[-count].strip()))
    except ValueError:
        return direct
