"""Writes of an import: loaded, taken in piece by piece, and undone piece by piece."""

import dataclasses
import datetime as dt

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from clients.models import Client, ClientImport, ImportStatus, ValueToCorrect
from clients.people import import_dates, import_rows, possible_duplicates, search_index
from clients.people.csv_file import Table
from clients.people.import_rows import Person
from clients.policies import check_can_import_lists
from salon import audit
from salon.models import Staff
from salon.policies import require_owner
from salon.refusals import Refused

# A piece holds SQLite's only write lock: so many rows keep others waiting half a second.
PIECE = 250


class ImportRefused(Refused):
    """Raised where an import is not in a state that allows what is asked."""


class DateOrderUnclear(ImportRefused):
    """Raised where a column of dates does not show whether day or month comes first."""

    field = "date_order"


@transaction.atomic
def load_import(
    *, file_name: str, table: Table, by: Staff, at: dt.datetime, content: bytes = b""
) -> ClientImport:
    """Keep a file and its rows to look at; nobody is added yet."""
    check_can_import_lists(by=by)
    found = ClientImport.objects.create(
        salon=by.salon,
        file_name=file_name[:120],
        content=content,
        **_as_read(table),
        mapping=import_rows.guess(table.header),
        loaded_at=at,
        loaded_by=by,
    )
    audit.record_event("import loaded", target=found, by=by, at=at, rows=found.row_count)
    return found


def _as_read(table: Table) -> dict[str, object]:
    return {
        "header": table.header,
        "rows": [[n in table.broken, *row] for n, row in enumerate(table.rows)],
        "row_count": len(table.rows),
        "encoding": table.encoding,
        "separator": table.separator,
    }


@transaction.atomic
def reread_import(
    *, loaded: ClientImport, table: Table, mapping: dict[str, str], by: Staff, at: dt.datetime
) -> ClientImport:
    """Keep a loaded file's rows as they read in another encoding."""
    check_can_import_lists(loaded, by=by)
    # Headings in the wrong letters were not known: what nobody has matched is guessed again.
    guessed = import_rows.guess(table.header)
    mapping = {
        **{n: name for n, name in guessed.items() if name not in mapping.values()},
        **mapping,
    }
    _step(loaded, ImportStatus.LOADED, ImportStatus.LOADED, mapping=mapping, **_as_read(table))
    audit.record_event("import read again", target=loaded, by=by, at=at, letters=table.encoding)
    return loaded


@transaction.atomic
def start_import(
    *,
    loaded: ClientImport,
    mapping: dict[str, str],
    by: Staff,
    at: dt.datetime,
    date_order: str = "",
) -> ClientImport:
    """Begin to take the rows in, with the columns and the order of dates as chosen."""
    check_can_import_lists(loaded, by=by)
    if "name" not in mapping.values():
        raise ImportRefused(_("Choose the column with the name."), code="no_name_column")
    order = date_order or import_rows.date_order_of(loaded.rows, mapping)
    if order == import_dates.UNCLEAR:
        raise DateOrderUnclear(_("Choose whether the day or the month comes first."))
    _step(
        loaded, ImportStatus.LOADED, ImportStatus.TAKING,
        mapping=mapping, date_order=order, content=b"",
    )  # fmt: skip
    audit.record_event("import started", target=loaded, by=by, at=at)
    return loaded


@transaction.atomic
def take_in_piece(*, taking: ClientImport, by: Staff, at: dt.datetime) -> ClientImport:
    """Take the next rows in; each is registered or refused with its reason."""
    check_can_import_lists(taking, by=by)
    found = ClientImport.objects.select_for_update().get(pk=taking.pk)
    if found.status != ImportStatus.TAKING:
        raise ImportRefused(_("This import is not running."), code="not_running")
    start = found.position
    piece = found.rows[start : start + PIECE]
    sorted_rows = import_rows.sort_out(
        piece,
        salon=found.salon,
        mapping=found.mapping,
        date_order=found.date_order,
        today=at.astimezone(found.salon.zone).date(),
    )
    found.refused += [
        [start + number + 2, reason, piece[number][1:]]  # counted as a spreadsheet does
        for number, reason in sorted_rows.refused
    ]
    _add_clients(sorted_rows.people, found, at)
    found.position = start + len(piece)
    found.added_count += len(sorted_rows.people)
    found.duplicate_count += sorted_rows.duplicates
    changed = ["refused", "position", "added_count", "duplicate_count"]
    if not found.unread_count:
        found.status = ImportStatus.DONE
        found.rows = []
        changed += ["status", "rows"]
        audit.record_event(
            "import done", target=found, by=by, at=at, added=found.added_count,
            refused=len(found.refused),
        )  # fmt: skip
    # Without the rows: they are megabytes, and the same after each piece.
    found.save(update_fields=changed)
    return found


def _add_clients(people: list[Person], found: ClientImport, at: dt.datetime) -> None:
    """Add people in bulk, and what has to be corrected of them to the worklist."""
    fresh = [
        Client(
            salon=found.salon, registered_at=at, brought_by=found,
            search_name=person.search_name, **dataclasses.asdict(person.fields),
        )
        for person in people
    ]  # fmt: skip
    search_index.index(Client.objects.bulk_create(fresh, batch_size=500))
    possible_duplicates.refresh(client.pk for client in fresh)
    ValueToCorrect.objects.bulk_create(
        (
            ValueToCorrect(
                salon=found.salon, client=client, brought_by=found,
                field=value.field, text=value.text, problem=value.problem,
            )
            for client, person in zip(fresh, people, strict=True)
            for value in person.set_aside
        ),
        batch_size=500,
    )  # fmt: skip


@transaction.atomic
def stop_import(*, taking: ClientImport, by: Staff, at: dt.datetime) -> ClientImport:
    """Stop an import where it is; what was taken in stays, and can be undone."""
    check_can_import_lists(taking, by=by)
    found = ClientImport.objects.select_for_update().get(pk=taking.pk)  # after its piece
    _step(found, ImportStatus.TAKING, ImportStatus.DONE, rows=[])
    audit.record_event(
        "import stopped", target=found, by=by, at=at, added=found.added_count,
        left=found.unread_count,
    )  # fmt: skip
    return found


@transaction.atomic
def undo_import(*, done: ClientImport, by: Staff, at: dt.datetime) -> ClientImport:
    """Begin to take an import back."""
    check_can_import_lists(done, by=by)
    _step(done, ImportStatus.DONE, ImportStatus.UNDOING, kept_count=0)
    audit.record_event("import being undone", target=done, by=by, at=at)
    return done


@transaction.atomic
def undo_piece(*, undoing: ClientImport, by: Staff, at: dt.datetime) -> ClientImport:
    """Take the next clients of an import out, unless something was recorded of them since."""
    check_can_import_lists(undoing, by=by)
    found = ClientImport.objects.select_for_update().get(pk=undoing.pk)
    if found.status != ImportStatus.UNDOING:
        raise ImportRefused(_("This import is not being undone."), code="not_being_undone")
    unused = import_rows.unused(Client.objects.filter(brought_by=found))
    piece = list(unused.order_by("pk")[:PIECE])
    if piece:
        search_index.forget(piece)
        keys = [client.pk for client in piece]
        left = possible_duplicates.partners(keys)
        Client.objects.filter(pk__in=keys).delete()
        possible_duplicates.refresh(left)
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
    check_can_import_lists(loaded, by=by)
    _step(loaded, ImportStatus.LOADED, ImportStatus.UNDONE, rows=[], content=b"")
    audit.record_event("import discarded", target=loaded, by=by, at=at)


def _step(found: ClientImport, expected: str, to: str, **fields: object) -> None:
    taken = ClientImport.objects.filter(pk=found.pk, status=expected).update(
        status=to, **fields
    )
    if not taken:
        raise ImportRefused(
            _("Someone else has worked on this import since you opened it."), code="changed"
        )
    found.refresh_from_db()


@transaction.atomic
def record_export(*, kind: str, by: Staff, at: dt.datetime) -> None:
    """Record that the client list left the house."""
    require_owner(by=by)
    audit.record_event("clients exported", target=by.salon, by=by, at=at, format=kind)


@transaction.atomic
def record_list_export(*, name: str, by: Staff, at: dt.datetime) -> None:
    """Record that a list about clients left the house: who looked, what they agreed to."""
    require_owner(by=by)
    audit.record_event("list exported", target=by.salon, by=by, at=at, list=name)
