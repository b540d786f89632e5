"""How the front desk works: changed by an owner."""

import datetime as dt

from django.db import transaction

from clients.models import DeskPolicy
from clients.selectors.desk import desk_policy
from salon import audit
from salon.models import Staff
from salon.policies import require_owner


@transaction.atomic
def change_desk_policy(*, by: Staff, at: dt.datetime, **fields: object) -> DeskPolicy:
    """Change who sees medical notes, how far history reaches, and the quiet hours."""
    require_owner(by=by)
    policy = desk_policy(salon=by.salon)
    for name, value in fields.items():
        setattr(policy, name, value)
    policy.full_clean()
    policy.save()
    audit.record_event("desk policy changed", target=policy, by=by, at=at, names=sorted(fields))
    return policy
