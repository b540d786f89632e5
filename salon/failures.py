"""A failure that nobody foresaw: a page with a reference that the log has too."""

import logging
import secrets
import sys
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.utils.translation import gettext as _

from salon import outages


@dataclass(frozen=True)
class Outage:
    """What a page says of a failure that has a name."""

    title: str
    sentences: list[str]


_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"  # nothing to mistake when read out
log = logging.getLogger(__name__)


def server_error(request: HttpRequest) -> HttpResponse:
    """Answer a failure. Asks no database: that may be what failed."""
    error = sys.exc_info()[1]  # Django calls this while it handles it
    status, page, outage = 500, "500.html", None
    if outages.is_full_disk(error):
        status, page, outage = 507, "outage.html", _full()
    elif outages.is_away(error):
        request.is_without_database = True  # type: ignore[attr-defined]
        status, page, outage = 503, "outage.html", _away(request)
    elif outages.is_store_away(error):
        status, page, outage = 503, "outage.html", _without_photos(request)
    reference = "".join(secrets.choice(_LETTERS) for _n in range(8))
    request.failure_reference = reference  # type: ignore[attr-defined]
    try:
        text: str = render_to_string(page, {"reference": reference, "outage": outage})
    except Exception:
        log.exception("The page for failures cannot be drawn either.")
        text = _("Something went wrong. Reference: %(reference)s") % {"reference": reference}
    headers = {"Cache-Control": "no-store"} | ({"Retry-After": "5"} if status == 503 else {})
    return HttpResponse(text, status=status, headers=headers)


def _full() -> Outage:
    return Outage(
        title=_("The server’s disk is full"),
        sentences=[
            _("The last step was not saved. What was saved before is safe."),
            _("Tell the person who looks after the server: it needs more room."),
            _("Then go back and try again: what you typed is usually still there."),
        ],
    )


def _away(request: HttpRequest) -> Outage:
    is_read = request.method in {"GET", "HEAD"}
    return Outage(
        title=_("The database does not answer"),
        sentences=[
            _("Nothing was lost. Load the page again in a moment.")
            if is_read
            else _(
                "It is not certain that the last step was saved. Go back in a moment and look:"
                " if it is missing, try again."
            ),
        ],
    )


def _without_photos(request: HttpRequest) -> Outage:
    return Outage(
        title=_("The place of the photos does not answer"),
        sentences=[
            _("Photos cannot be shown, taken or deleted now. Everything else works."),
            _("Load the page again in a moment.")
            if request.method in {"GET", "HEAD"}
            else _("Go back in a moment and look whether the last step was saved."),
            _("Tell the person who looks after the server if it lasts."),
        ],
    )


class LineFormatter(logging.Formatter):
    """Writes one line for each event, with the reference that the page showed."""

    def format(self, record: logging.LogRecord) -> str:
        line = super().format(record)
        reference = getattr(getattr(record, "request", None), "failure_reference", "")
        if not reference:
            return line
        first, *rest = line.split("\n")
        return "\n".join([f"{first} [reference {reference}]", *rest])
