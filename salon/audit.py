"""The only writer of AuditEvent."""

import datetime as dt
from typing import Any

from django.db import models

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

    `by` is None where the product itself acts (a command). `detail` takes ids, numbers
    and codes only.
    """
    owner = salon or (by.salon if by else getattr(target, "salon", None))
    if owner is None:
        raise ValueError("record_event needs a salon: pass by= or salon=.")
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
