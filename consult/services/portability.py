"""Who took everything about a client out of the product."""

import datetime as dt

from django.db import transaction

from clients.models import Client
from salon import audit, policies
from salon.models import Staff


@transaction.atomic
def record_client_export(*, client: Client, by: Staff, at: dt.datetime) -> None:
    """Put on record that an owner made the file of everything about a client."""
    policies.require_owner(client, by=by)
    audit.record_event("client data exported", target=client, by=by, at=at)
