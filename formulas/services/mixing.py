"""Writes of the rules of mixing: a change is a new row, the earlier ones stay."""

import datetime as dt
from typing import Any

from django.db import transaction

from formulas import policies
from formulas.mixing_rules import rules_in_force
from formulas.models import MixingRules
from salon import audit
from salon.models import Staff


@transaction.atomic
def revise_mixing_rules(*, by: Staff, at: dt.datetime, **fields: Any) -> MixingRules:
    """Put another set of rules in force; bowls that are decided stay as they are."""
    policies.check_can_change_lines(by=by)
    rules = MixingRules(
        salon=by.salon,
        number=rules_in_force(salon=by.salon).number + 1,
        recorded_at=at,
        recorded_by=by,
        **fields,
    )
    rules.full_clean()
    rules.save()
    audit.record_event("mixing rules revised", target=rules, by=by, at=at)
    return rules
