"""How long nobody has touched the page that asks."""

from django.http import HttpRequest

from salon.numbers import whole_number

IDLE_HEADER = "X-Idle-Seconds"


def is_background_request(request: HttpRequest) -> bool:
    """Return whether a script asks (a poll, an autosave, a fragment), not somebody's step."""
    return (
        IDLE_HEADER in request.headers
        or "HX-Request" in request.headers
        or request.headers.get("Sec-Fetch-Mode", "navigate") != "navigate"
    )


def seconds_idle(request: HttpRequest) -> float | None:
    """Return how long ago someone touched the page that asks; None where it does not say.

    Opening a page is a touch. What a page asks for by itself is none, but its script counts
    the seconds and sends them along.
    """
    if not is_background_request(request):
        return 0.0
    return whole_number(request.headers.get(IDLE_HEADER, ""), digits=7)
