"""What a visit keeps when something of it is recorded on the floor below."""

from typing import Any

from django.db import transaction

from clients.models import PatchOverride
from consult.history import kept_figures


def note_override(*, instance: PatchOverride, **_more: Any) -> None:
    """Keep with a visit that its appointment is allowed in writing, whenever that is done."""
    with transaction.atomic():
        kept_figures.note_override(instance.appointment)
