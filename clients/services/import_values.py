"""Writes of the worklist of values to correct."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from clients.models import Client, ValueToCorrect
from clients.policies import check_can_import_lists
from clients.services.importing import ImportRefused
from clients.services.register import change_client
from salon import audit
from salon.models import Staff
from salon.refusals import Stale

Value = str | dt.date | None


class ValueAlreadyChanged(ImportRefused, Stale):
    """Raised where somebody else has corrected or removed a value since it was shown."""


@transaction.atomic
def correct_values(
    *,
    corrected: Mapping[int, Value],
    removed: set[int],
    versions: Mapping[int, int],
    by: Staff,
    at: dt.datetime,
) -> int:
    """Write corrected values to their clients, drop removed ones; return how many.

    `versions` are those of the clients as they were shown, by the value's id.
    """
    check_can_import_lists(by=by)
    wanted = {*corrected, *removed}
    rows = ValueToCorrect.objects.filter(salon=by.salon, pk__in=wanted)
    found = {row.pk: row for row in rows.select_for_update()}
    if len(found) != len(wanted):
        raise ValueAlreadyChanged(
            _("Someone else has already dealt with one of these. Nothing was saved.")
        )
    for client, change in _by_client(found, corrected, versions).items():
        change_client(
            client=client, expected_version=change.version, by=by, at=at, **change.fields
        )
    for pk in sorted(removed):
        audit.record_event(
            "imported value removed", target=found[pk].client, by=by, at=at,
            field=found[pk].field,
        )  # fmt: skip
    rows.delete()
    return len(wanted)


@dataclass(frozen=True)
class _Change:
    """The corrected fields of one client, and the version that was shown."""

    version: int
    fields: dict[str, Any] = field(default_factory=dict)


def _by_client(
    found: Mapping[int, ValueToCorrect],
    corrected: Mapping[int, Value],
    versions: Mapping[int, int],
) -> dict[Client, _Change]:
    """Return what to change of each client."""
    changes: dict[Client, _Change] = {}
    for pk, value in corrected.items():
        change = changes.setdefault(found[pk].person, _Change(versions.get(pk, 0)))
        change.fields[found[pk].field] = value
    return changes


@transaction.atomic
def remove_alike(*, field: str, text: str, by: Staff, at: dt.datetime) -> int:
    """Drop every value of a field with the same text ("k.A."); return how many."""
    check_can_import_lists(by=by)
    rows = ValueToCorrect.objects.filter(salon=by.salon, field=field, text=text)
    count, _by_model = rows.delete()
    audit.record_event(
        "imported values removed", target=by.salon, by=by, at=at, field=field, count=count
    )
    return count
