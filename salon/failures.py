"""A failure that nobody foresaw: a page with a reference that the log has too."""

import logging
import secrets

from django.http import HttpRequest, HttpResponse, HttpResponseServerError
from django.template.loader import render_to_string
from django.utils.translation import gettext as _

_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"  # nothing to mistake when read out
log = logging.getLogger(__name__)


def server_error(request: HttpRequest) -> HttpResponse:
    """Answer a failure. Asks no database: that may be what failed."""
    reference = "".join(secrets.choice(_LETTERS) for _n in range(8))
    request.failure_reference = reference  # type: ignore[attr-defined]
    try:
        page: str = render_to_string("500.html", {"reference": reference})
    except Exception:
        log.exception("The page for failures cannot be drawn either.")
        page = _("Something went wrong. Reference: %(reference)s") % {"reference": reference}
    return HttpResponseServerError(page, headers={"Cache-Control": "no-store"})


class LineFormatter(logging.Formatter):
    """Writes one line for each event, with the reference that the page showed."""

    def format(self, record: logging.LogRecord) -> str:
        line = super().format(record)
        reference = getattr(getattr(record, "request", None), "failure_reference", "")
        if not reference:
            return line
        first, *rest = line.split("\n")
        return "\n".join([f"{first} [reference {reference}]", *rest])
