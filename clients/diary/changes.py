"""What a row of an appointment's history says was changed."""

import datetime as dt

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.models import AppointmentEvent, EventKind

MERGE_UNDONE = "merge_undone"
_LABELS = {
    "service": gettext_lazy("Service"),
    "line": gettext_lazy("Product line"),
    "chair": gettext_lazy("Chair"),
    "price": gettext_lazy("Price quoted"),
    "stylist": gettext_lazy("Stylist"),
}


def sentences(event: AppointmentEvent) -> list[str]:
    """Return one sentence for each field that an event changed."""
    return [sentence for change in event.changes if (sentence := _sentence(*change))]


def _sentence(field: str, before: str, after: str) -> str:
    """Return what became of one field; nothing for a field that is not known any more."""
    if field in EventKind.values:
        return str(EventKind(field).label)
    worded = {
        "note": lambda: _("Note changed"),
        MERGE_UNDONE: lambda: _("Check-in undone: it relied on a merge that was undone."),
        "together": lambda: _("Two services, one visit"),
        "time": lambda: _("%(when)s before") % {"when": _clock(before)},
        "length": lambda: (
            _("Length: %(after)s min, was %(before)s min") % {"before": before, "after": after}
        ),
        "deposit": lambda: _("Deposit: %(after)s") % {"after": _paid(after)},
    }.get(field)
    if worded:
        return worded()
    if field not in _LABELS:
        return ""
    return _("%(field)s: %(after)s, was %(before)s") % {
        "field": _LABELS[field],
        "before": f"\u2068{before or '–'}\u2069",
        "after": f"\u2068{after or '–'}\u2069",
    }


def _paid(text: str) -> str:
    """Return a deposit with its "yes" in the reader's language."""
    if not text.startswith("yes"):
        return text or "–"
    return _("paid") + text.removeprefix("yes")


def _clock(text: str) -> str:
    moment = timezone.localtime(dt.datetime.fromisoformat(text))
    return date_format(moment, _("D j M, H:i"))
