"""How the front desk works: changed by an owner."""

import datetime as dt

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils.translation import gettext as _

from clients.models import DeskPolicy
from clients.selectors.desk import desk_policy
from salon import audit
from salon.models import Role, Staff


@transaction.atomic
def change_desk_policy(*, by: Staff, at: dt.datetime, **fields: object) -> DeskPolicy:
    """Change who sees medical notes, how far history reaches, and the quiet hours."""
    if by.role != Role.OWNER:
        raise PermissionDenied(_("Only an owner may change this."))
    policy = desk_policy(salon=by.salon)
    for name, value in fields.items():
        setattr(policy, name, value)
    policy.full_clean()
    policy.save()
    audit.record_event("desk policy changed", target=policy, by=by, at=at, names=sorted(fields))
    return policy
