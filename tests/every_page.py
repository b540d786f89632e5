"""The address of every page, with a record that shows it: one list for pictures and checks.

A new route that takes a record of a kind not named here fails loudly, so that no page is
left out of the contact sheet by forgetting it.
"""

import re
from collections.abc import Iterator
from typing import Any, NamedTuple

from django.apps import apps
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from consult.visit.loading import facts_of
from tests.project.role_table import OPEN, TABLE


class PageAddress(NamedTuple):
    """One page and who may open it."""

    name: str
    path: str
    roles: frozenset[str]


def routes() -> Iterator[tuple[str, str, list[str]]]:
    """Yield every named route with its pattern and the names of its arguments."""

    def walk(
        patterns: list[URLPattern | URLResolver], namespace: str, before: str
    ) -> Iterator[tuple[str, str, list[str]]]:
        for pattern in patterns:
            text = before + str(pattern.pattern)
            if isinstance(pattern, URLResolver):
                inner = f"{pattern.namespace}:" if pattern.namespace else namespace
                yield from walk(pattern.url_patterns, inner, text)
            elif isinstance(pattern, URLPattern):
                yield f"{namespace}{pattern.name}", text, list(pattern.pattern.converters)

    yield from walk(get_resolver().url_patterns, "", "")


# The step that a visit waits at where its page is worth a picture; else a closed visit.
_VISIT_AT = {
    "choice": "choice", "hair": "choice", "safety": "choice", "formula": "bench",
    "sign": "sign", "bench": "bench", "client_choice": "choice", "client_sign": "sign",
    "hand_over": "choice", "prediction": "bench", "visit": "choice", "pre_tests": "choice",
    "steps": "choice",
}  # fmt: skip

# Which record a route is about, by how its address begins: model and filter.
SUBJECTS: dict[str, tuple[str, dict[str, Any]]] = {
    r"^evidence/anchors/": ("consult.Anchor", {}),
    r"^clients/imports/": ("clients.ClientImport", {}),
    r"^clients/merge/": ("clients.ClientMerge", {}),
    r"^clients/": ("clients.Client", {"visits__status": "closed", "known_as": "Maeve"}),
    r"^appointments/.*/card/": ("clients.Appointment", {"visits__status": "closed"}),
    r"^appointments/": ("clients.Appointment", {"status": "booked", "line__isnull": False}),
    r"^patch-tests/": ("clients.PatchTest", {"readings__isnull": True}),
    r"^alerts/": ("clients.ClientAlert", {"lifts__isnull": True, "lifted_by__isnull": True}),
    r"^hair-history/": ("clients.HairHistoryEntry", {}),
    r"^waiting/": ("clients.WaitingEntry", {}),
    r"^hours/away/": ("clients.Absence", {}),
    r"^day/.*/away/": ("salon.Staff", {"has_column": True}),
    r"^hours/closed/": ("clients.ClosedDay", {}),
    r"^reminders/": ("clients.Reminder", {}),
    r"^lines/": ("formulas.ProductLine", {}),
    r"^(shades|stock)/": ("formulas.Shade", {}),
    r"^team/.*/booked/": ("salon.Staff", {"has_column": True}),
    r"^salon/team/": ("salon.Staff", {}),
    r"^account/salons/": ("salon.LinkedAccount", {}),
    r"^account/passkeys/": ("salon.Passkey", {}),
    r"^salon/files/": ("salon.PreparedFile", {}),
    r"^salon/devices/": ("salon.Device", {}),
    r"^services/": ("clients.Service", {"is_colour": True}),
    r"^chairs/": ("clients.Chair", {}),
    r"^histories/lines/": ("formulas.ProductLine", {}),
    r"^record-moves/": ("clients.RecordMove", {}),
    r"^records-to-receive/": ("clients.RecordMove", {"state": "waiting"}),
    r"^received-records/": ("clients.ReceivedRecord", {"deleted_at__isnull": True}),
    r"^photos/": ("clients.Photo", {"removal__isnull": True}),
}
# Posted to only, shown on an enrolled device only, a picture itself, or a part of a page
# (of the booking form).
NO_PAGE = {
    "clients:booking_day", "clients:booking_tests", "clients:photo", "clients:small_photo",
    "consult:received_photo", "formulas:order_list", "formulas:shades_csv", "salon:logo",
    "salon:switch",
}  # fmt: skip
FIXED = {"kind": "appointment", "day": "2026-11-26", "token": "x", "moment": "before",
         "first_step": "tablets"}  # fmt: skip


def _visit(name: str) -> Any:
    visits = apps.get_model("consult.Visit").objects.order_by("-opened_at")
    waits_at = _VISIT_AT.get(name.split(":")[1], "closed")
    if waits_at == "closed":
        return visits.filter(status="closed").first()
    opened = list(visits.filter(status="open"))
    at = timezone.now()
    due = (visit for visit in opened if facts_of(visit, at=at).due == waits_at)
    return next(due, opened[0] if opened else None)


def _subject(name: str, pattern: str) -> Any:
    if pattern.startswith("visits/"):
        return _visit(name)
    for start, (label, where) in SUBJECTS.items():
        if re.match(start, pattern):
            rows = apps.get_model(label).objects.order_by("-pk")
            return rows.filter(**where).first() or rows.first()
    raise LookupError(f"Which record shows {name} ({pattern})? Name it in tests/every_page.py.")


def every_page() -> list[PageAddress]:
    """Return every route with the record that shows it; those without a record are left out."""
    found = []
    for name, pattern, arguments in routes():
        if name in OPEN or name in NO_PAGE:
            continue
        values: dict[str, Any] = {key: FIXED[key] for key in arguments if key in FIXED}
        missing = [key for key in arguments if key not in values]
        if missing:
            record = _subject(name, pattern)
            if record is None:
                continue
            values |= _arguments(record, missing)
        found.append(PageAddress(name, reverse(name, kwargs=values), frozenset(TABLE[name])))
    return found


def _arguments(record: Any, missing: list[str]) -> dict[str, Any]:
    """Return the record's key, and for a second argument that of its latest part."""
    parts = {"bowl": "bowls", "signed": "sign_offs", "step": "steps", "mail": "mailed_cards"}
    values = {}
    for key in missing:
        part = getattr(record, parts[key]).last() if key in parts else record
        values[key] = getattr(part, key, part.pk) if part else 0
    return values
