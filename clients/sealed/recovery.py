"""Whether the storage key opens what is stored, and is kept somewhere else."""

from django.db import connection
from django.db.models import Q

from clients.models import ClientKey
from salon import storage_key
from salon.models import AuditEvent

PRINTED = "recovery sheet printed"


def is_in_use() -> bool:
    """Return whether anything is closed yet; an older schema has no such table."""
    tables = connection.introspection.table_names()
    return ClientKey._meta.db_table in tables and ClientKey.objects.exclude(wrapped="").exists()


def try_newest() -> None:
    """Open the newest key, or raise `KeyLost`."""
    newest = ClientKey.objects.exclude(wrapped="").order_by("-pk").first()
    if newest:
        storage_key.unwrap(newest.wrapped)


def name() -> str:
    """Return what the key in use is called."""
    return storage_key.name_of(storage_key.current())


def is_on_a_sheet() -> bool:
    """Return whether the key in use was printed."""
    return AuditEvent.objects.filter(kind=PRINTED, detail__key=name()).exists()


def wrap_again() -> int:
    """Wrap every key of a client under the key in use; return how many."""
    count = 0
    for row in ClientKey.objects.filter(~Q(wrapped="")).iterator(chunk_size=500):
        row.wrapped = storage_key.wrap_again(row.wrapped)
        row.save(update_fields=["wrapped"])
        count += 1
    return count
