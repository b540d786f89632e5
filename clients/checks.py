"""System checks of the front desk's invariants (run by `check --database default`)."""

from collections.abc import Sequence
from typing import Any

from django.core.checks import CheckMessage, Error, Tags, Warning, register
from django.db import connections

from clients.diary import overlap_guard
from clients.privacy import erasure_list
from clients.sealed import recovery
from salon import storage_key


@register(Tags.database)
def check_overlap_guards(
    app_configs: Any, databases: Sequence[str] | None = None, **kwargs: Any
) -> list[CheckMessage]:
    """Report a database that would take two bookings of one stylist or chair."""
    return [
        Error(
            f"The guard against double booking {name} is missing.",
            hint="Run `manage.py migrate`: it installs it again. If it stays missing, bookings"
            " in the diary overlap: cancel or move one of them, then run it again.",
            id="clients.E001",
        )
        for alias in databases or []
        for name in overlap_guard.missing(connections[alias])
    ]


@register(Tags.database)
def check_storage_key(
    app_configs: Any, databases: Sequence[str] | None = None, **kwargs: Any
) -> list[CheckMessage]:
    """Report a storage key that opens nothing, and one that is kept nowhere else."""
    if not databases:
        return []
    try:
        if not recovery.is_in_use():
            return []
        recovery.try_newest()
        if recovery.is_on_a_sheet():
            return []
    except storage_key.KeyLost as error:
        return [Error(str(error), id="clients.E002")]
    return [
        Warning(
            f"No recovery sheet is printed for the storage key {recovery.name()}.",
            hint="If the key is lost, nobody can read the records: print it, while it is here,"
            " with `manage.py recovery_sheet FILE.pdf`, and keep it in a safe.",
            id="clients.W001",
        )
    ]


@register(Tags.database)
def check_erasures(
    app_configs: Any, databases: Sequence[str] | None = None, **kwargs: Any
) -> list[CheckMessage]:
    """Report people who were erased and came back with a restored backup."""
    if not databases or not recovery.is_in_use() or not (found := erasure_list.forgotten()):
        return []
    return [
        Error(
            f"{len(found)} entries of the register were erased and are here again.",
            hint="An older backup was restored. Run `manage.py replay_erasures`.",
            id="clients.E003",
        )
    ]
