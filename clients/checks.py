"""System checks of the front desk's invariants (run by `check --database default`)."""

from collections.abc import Sequence
from typing import Any

from django.core.checks import CheckMessage, Error, Tags, register
from django.db import connections

from clients.diary import overlap_guard


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
