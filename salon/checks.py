"""System checks of the salon's own invariants (run by `check --database default`)."""

from collections.abc import Sequence
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, register
from django.db import connections

from salon import triggers


@register(Tags.database)
def append_only_triggers_stand(
    app_configs: Any, databases: Sequence[str] | None = None, **kwargs: Any
) -> list[CheckMessage]:
    """Report append-only tables that could be changed behind the models' back."""
    if not settings.APPEND_ONLY_TRIGGERS:
        return []
    return [
        Error(
            f"The trigger {name} is missing.",
            hint="Run `manage.py migrate`: it installs them again.",
            id="salon.E001",
        )
        for alias in databases or []
        for name in triggers.missing(connections[alias])
    ]
