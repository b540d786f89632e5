"""Imports as those see them who may import."""

import datetime as dt
from dataclasses import dataclass

from django.db.models import QuerySet

from clients.models import Client, ClientImport
from clients.people import import_dates, import_rows
from clients.people.import_rows import Person
from salon.models import Salon

_SAMPLE = 200
_SHOWN = 5
_LONGEST_SAMPLE = 40


@dataclass(frozen=True)
class Preview:
    """What the first rows would become, and what would be refused or set aside of them."""

    rows: list[Person]
    refused: list[tuple[int, str]]
    to_correct: int
    looked_at: int
    date_order_is_unclear: bool


def imports(*, salon: Salon) -> QuerySet[ClientImport]:
    """Return the imports, latest first, without their rows."""
    found = ClientImport.objects.filter(salon=salon).defer("rows", "refused", "content")
    return found.select_related("loaded_by")[:20]


def preview(
    *, loaded: ClientImport, mapping: dict[str, str], date_order: str, today: dt.date
) -> Preview:
    """Return the first rows as they would be taken in."""
    order = date_order or import_rows.date_order_of(loaded.rows, mapping)
    found = import_rows.sort_out(
        loaded.rows[:_SAMPLE],
        salon=loaded.salon,
        mapping=mapping,
        date_order=order,
        today=today,
    )
    return Preview(
        rows=found.people[:_SHOWN],
        refused=[(number + 2, reason) for number, reason in found.refused],
        to_correct=sum(len(person.set_aside) for person in found.people),
        looked_at=min(_SAMPLE, len(loaded.rows)),
        date_order_is_unclear=order == import_dates.UNCLEAR,
    )


def samples(loaded: ClientImport) -> list[str]:
    """Return a few cells of each column, to tell by what it holds what it means."""
    found: list[list[str]] = [[] for _title in loaded.header]
    for _broken, *cells in loaded.rows[:_SAMPLE]:
        for column, cell in zip(found, cells, strict=False):
            text = " ".join(cell.split())[:_LONGEST_SAMPLE]
            if text and len(column) < 3 and text not in column:
                column.append(text)
    return [" · ".join(column) for column in found]


def all_clients(*, salon: Salon) -> QuerySet[Client]:
    """Return everyone for an export."""
    return Client.objects.for_salon(salon).in_register()
