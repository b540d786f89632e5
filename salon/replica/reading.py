"""A page or a file that is read from the replica where it is near enough, else as always."""

import datetime as dt
from collections.abc import Callable, Iterable, Iterator
from functools import wraps
from itertools import islice
from typing import Any, TypeVar

from django.db import Error, connections
from django.http import HttpRequest, HttpResponseBase
from django.utils import timezone

from salon.replica import standing
from salon.replica.router import REPLICA, reading_replica

WRITTEN = "written_position"
OPENING = 2  # pieces: a heading, and the first that is read
READ_ONLY = frozenset({"GET", "HEAD", "OPTIONS"})

R = TypeVar("R")


def reads_replica(view: Callable[..., HttpResponseBase]) -> Callable[..., HttpResponseBase]:
    """Mark a page that looks back. Only what is asked for by GET: a form is about to write."""

    @wraps(view)
    def reading(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        def read() -> HttpResponseBase:
            return view(request, *args, **kwargs)

        if request.method not in READ_ONLY:
            return read()
        found = standing.readable(written=request.session.get(WRITTEN, ""))
        if found is None:
            return read()
        request.figures_at = timezone.now() - (found.age or dt.timedelta())  # type: ignore[attr-defined]
        try:
            return _there(read)
        except Error as error:
            _give_up(error)
            request.figures_at = None  # type: ignore[attr-defined]
            return read()

    return reading


def from_replica(read: Callable[[], R]) -> R:
    """Return what `read` returns for a file, as of now; it must not write.

    If the replica goes away in between, all is read once more from the database itself.
    """
    if standing.caught_up() is None:
        return read()
    try:
        return _there(read)
    except Error as error:
        _give_up(error)
        return read()


def pieces_from_replica(pieces: Callable[[], Iterable[bytes]]) -> Iterable[bytes]:
    """Return the pieces of a file, as of now, read from the replica while it is sent.

    Where it begins with an error the file is read from the database itself; later it breaks
    off, as any download whose source goes away.
    """
    return _streamed(pieces) if standing.caught_up() else pieces()


def _streamed(pieces: Callable[[], Iterable[bytes]]) -> Iterator[bytes]:
    source = iter(pieces())
    try:
        opening = _there(lambda: list(islice(source, OPENING)))
    except Error as error:
        _give_up(error)
        yield from pieces()
        return
    yield from opening
    # Not around the `yield`: whoever takes the piece would read the replica as well.
    while (piece := _there(lambda: next(source, None))) is not None:
        yield piece


def _there(read: Callable[[], R]) -> R:
    with reading_replica():
        return read()


def _give_up(error: Error) -> None:
    connections[REPLICA].close()
    standing.give_up(f"a query failed there ({str(error).strip()})")


class WrittenMiddleware:
    """Note in the session where the log was after it wrote something.

    Whoever writes and then looks must see it, even if the replica is seconds behind.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        writes = request.method not in READ_ONLY and standing.is_set()
        if writes and getattr(request, "user", None) and request.user.is_authenticated:
            request.session[WRITTEN] = standing.written_position()
        return response
