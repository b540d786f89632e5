"""Who took everything about a client out of the product, and that its keys were printed."""

import datetime as dt

from django.db import transaction

from clients.models import Client
from clients.sealed import recovery
from salon import audit, policies
from salon.models import Salon, Staff


@transaction.atomic
def record_client_export(*, client: Client, by: Staff, at: dt.datetime) -> None:
    """Put on record that an owner made the file of everything about a client."""
    policies.require_owner(client, by=by)
    audit.record_event("client data exported", target=client, by=by, at=at)


@transaction.atomic
def record_recovery_sheet(*, salon: Salon, key: str, at: dt.datetime) -> None:
    """Put on record that the keys of the installation were printed, by the key's name."""
    audit.record_event(recovery.PRINTED, target=salon, by=None, at=at, key=key)
