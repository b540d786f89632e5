"""Writes of the salon's practice: a change is a new row, the earlier ones stay."""

import datetime as dt
from typing import Any

from django.db import transaction

from formulas import policies
from formulas.models import PracticeRules
from formulas.practice_rules import rules_in_force
from salon import audit
from salon.models import Staff


@transaction.atomic
def revise_practice(*, by: Staff, at: dt.datetime, **fields: Any) -> PracticeRules:
    """Put another practice in force; what was chosen and decided stays as it is."""
    policies.check_can_change_lines(by=by)
    rules = PracticeRules(
        salon=by.salon,
        number=rules_in_force(salon=by.salon).number + 1,
        recorded_at=at,
        recorded_by=by,
        **fields,
    )
    rules.full_clean()
    rules.save()
    audit.record_event("practice revised", target=rules, by=by, at=at)
    return rules
