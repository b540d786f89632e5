"""Writes of an import: loaded, taken in piece by piece, and undone piece by piece."""

import datetime as dt
from typing import Any

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from clients.models import Client, ClientImport, ImportStatus
from clients.people import import_rows, search_index
from clients.people.csv_file import Table
from salon import audit
from salon.models import Staff
from salon.policies import require_owner

PIECE = 1000


class ImportRefused(Exception):
    """Raised where an import is not in a state that allows what is asked."""


@transaction.atomic
def load_import(*, file_name: str, table: Table, by: Staff, at: dt.datetime) -> ClientImport:
    """Keep a file's rows to look at; nobody is registered yet."""
    require_owner(by=by)
    found = ClientImport.objects.create(
        salon=by.salon,
        file_name=file_name[:120],
        header=table.header,
        rows=[[n in table.broken, *row] for n, row in enumerate(table.rows)],
        mapping=import_rows.guess(table.header),
        row_count=len(table.rows),
        loaded_at=at,
        loaded_by=by,
    )
    audit.record_event("import loaded", target=found, by=by, at=at, rows=found.row_count)
    return found


@transaction.atomic
def start_import(
    *, loaded: ClientImport, mapping: dict[str, str], by: Staff, at: dt.datetime
) -> ClientImport:
    """Begin to take the rows in, with the columns as the owner has said."""
    require_owner(loaded, by=by)
    if "name" not in mapping.values():
        raise ImportRefused(_("Say which column holds the name."))
    _step(loaded, ImportStatus.LOADED, ImportStatus.TAKING, mapping=mapping)
    audit.record_event("import started", target=loaded, by=by, at=at)
    return loaded


@transaction.atomic
def take_in_piece(*, taking: ClientImport, by: Staff, at: dt.datetime) -> ClientImport:
    """Take the next rows in; each is registered or refused with its reason."""
    require_owner(taking, by=by)
    found = ClientImport.objects.select_for_update().get(pk=taking.pk)
    if found.status != ImportStatus.TAKING:
        raise ImportRefused(_("This import is not being taken in."))
    start = found.position
    piece = found.rows[start : start + PIECE]
    known = import_rows.Known.of(found.salon)
    today = at.astimezone(found.salon.zone).date()
    fresh: list[Client] = []
    for number, (broken, *cells) in enumerate(piece, start=start):
        try:
            fields = import_rows.fields_of(
                cells, header=found.header, mapping=found.mapping, broken=broken, today=today
            )
            known.add(fields)
        except import_rows.RowRefused as refusal:
            found.refused.append([number + 2, str(refusal)])  # as a spreadsheet counts
            continue
        fresh.append(_client(fields, found, at))
    search_index.index(Client.objects.bulk_create(fresh, batch_size=500))
    found.position = start + len(piece)
    found.added_count += len(fresh)
    if found.position >= found.row_count:
        found.status = ImportStatus.DONE
        found.rows = []
        audit.record_event(
            "import done", target=found, by=by, at=at, added=found.added_count,
            refused=len(found.refused),
        )  # fmt: skip
    found.save()
    return found


def _client(fields: dict[str, Any], found: ClientImport, at: dt.datetime) -> Client:
    client = Client(salon=found.salon, registered_at=at, brought_by=found, **fields)
    client.search_name = client.searchable_name()
    return client


@transaction.atomic
def undo_import(*, done: ClientImport, by: Staff, at: dt.datetime) -> ClientImport:
    """Begin to take an import back."""
    require_owner(done, by=by)
    _step(done, ImportStatus.DONE, ImportStatus.UNDOING, kept_count=0)
    audit.record_event("import being undone", target=done, by=by, at=at)
    return done


@transaction.atomic
def undo_piece(*, undoing: ClientImport, by: Staff, at: dt.datetime) -> ClientImport:
    """Take the next clients of an import out, unless something was recorded of them since."""
    require_owner(undoing, by=by)
    found = ClientImport.objects.select_for_update().get(pk=undoing.pk)
    if found.status != ImportStatus.UNDOING:
        raise ImportRefused(_("This import is not being undone."))
    unused = import_rows.unused(Client.objects.filter(brought_by=found))
    piece = list(unused.order_by("pk")[:PIECE])
    if piece:
        search_index.forget(piece)
        Client.objects.filter(pk__in=[client.pk for client in piece]).delete()
        ClientImport.objects.filter(pk=found.pk).update(
            added_count=F("added_count") - len(piece)
        )
    if len(piece) < PIECE:
        kept = Client.objects.filter(brought_by=found).count()
        ClientImport.objects.filter(pk=found.pk).update(
            status=ImportStatus.UNDONE, kept_count=kept
        )
        audit.record_event("import undone", target=found, by=by, at=at, kept=kept)
    found.refresh_from_db()
    return found


@transaction.atomic
def discard_import(*, loaded: ClientImport, by: Staff, at: dt.datetime) -> None:
    """Throw a loaded file away without taking it in."""
    require_owner(loaded, by=by)
    _step(loaded, ImportStatus.LOADED, ImportStatus.UNDONE, rows=[])
    audit.record_event("import discarded", target=loaded, by=by, at=at)


def _step(found: ClientImport, expected: str, to: str, **fields: object) -> None:
    taken = ClientImport.objects.filter(pk=found.pk, status=expected).update(
        status=to, **fields
    )
    if not taken:
        raise ImportRefused(_("Someone else has dealt with this import meanwhile."))
    found.refresh_from_db()


@transaction.atomic
def record_export(*, kind: str, by: Staff, at: dt.datetime) -> None:
    """Record that the client list left the house."""
    require_owner(by=by)
    audit.record_event("clients exported", target=by.salon, by=by, at=at, format=kind)
