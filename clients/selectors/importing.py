"""Imports as the owner sees them."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from clients.models import Client, ClientImport
from clients.people import import_rows
from salon.models import Salon

_SAMPLE = 200
_SHOWN = 5


@dataclass(frozen=True)
class Preview:
    """What the first rows would become, and what would be refused of them."""

    rows: list[dict[str, Any]]
    refused: list[tuple[int, str]]
    looked_at: int


def imports(*, salon: Salon) -> QuerySet[ClientImport]:
    """Return the imports, latest first, without their rows."""
    found = ClientImport.objects.filter(salon=salon).defer("rows", "refused")
    return found.select_related("loaded_by")[:20]


def preview(*, loaded: ClientImport, mapping: dict[str, str], today: dt.date) -> Preview:
    """Return the first rows as they would be taken in."""
    known = import_rows.Known.of(loaded.salon)
    rows: list[dict[str, Any]] = []
    refused: list[tuple[int, str]] = []
    for number, (broken, *cells) in enumerate(loaded.rows[:_SAMPLE]):
        try:
            fields = import_rows.fields_of(
                cells, header=loaded.header, mapping=mapping, broken=broken, today=today
            )
            known.add(fields)
            rows.append(fields)
        except import_rows.RowRefused as refusal:
            refused.append((number + 2, str(refusal)))
    return Preview(rows[:_SHOWN], refused, min(_SAMPLE, len(loaded.rows)))


def all_clients(*, salon: Salon) -> QuerySet[Client]:
    """Return everyone for an export."""
    return Client.objects.for_salon(salon).not_merged()
