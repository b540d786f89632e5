"""The only writer of AuditEvent."""

import datetime as dt
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import models
from django.utils.translation import gettext as _

from salon.models import AuditEvent, Salon, Staff


def record_event(
    kind: str,
    *,
    target: models.Model,
    by: Staff | None,
    at: dt.datetime,
    salon: Salon | None = None,
    **detail: Any,
) -> AuditEvent:
    """Record that `by` did `kind` to `target` at `at`, in the caller's transaction.

    The event is filed under the record's salon, and nobody of another salon may cause one.
    `by` is None where the product itself acts (a command). `detail` takes ids, numbers
    and codes only.
    """
    owner = salon or getattr(target, "salon", None)
    if owner is None:
        raise ValueError(
            f"{type(target).__name__} names no salon: give it one, or pass salon=."
        )
    if by is not None and by.salon_id != owner.pk:
        raise PermissionDenied(_("This belongs to another salon."))
    return AuditEvent.objects.create(
        salon=owner,
        kind=kind,
        at=at,
        actor_id=by.pk if by else None,
        actor_label=by.display_name if by else "",
        target_type=target._meta.label_lower,
        target_id=str(target.pk),
        detail=detail,
    )
