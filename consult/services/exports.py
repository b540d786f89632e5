"""Who took results out of the product."""

import datetime as dt

from django.db import transaction

from salon import audit, policies
from salon.models import Staff


@transaction.atomic
def record_results_export(*, table: str, by: Staff, at: dt.datetime) -> None:
    """Put on record that someone took a table of results out of the product."""
    policies.require_owner(by.salon, by=by)
    audit.record_event("results exported", target=by.salon, by=by, at=at, table=table)
