"""Consent to keep health data: taken with the first record, and asked before each."""

import datetime as dt

from django.utils.translation import gettext as _

from clients.models import Client, ConsentKind
from clients.people import person
from clients.people.consent_texts import consent_wording
from clients.people.health_consent import is_withdrawn
from clients.policies import check_can_work_at_desk
from clients.services.consents import record_consent
from salon.models import Staff
from salon.refusals import Refused


class HealthConsentWithdrawn(Refused):
    """Raised where health data would be kept although the client has withdrawn the consent."""


def take_health_consent(
    *, client: Client, agreed_by: str | None, by: Staff, at: dt.datetime
) -> None:
    """Record the consent that came with a form, or refuse where it is withdrawn.

    `agreed_by` is None where nobody was asked now, "" for the client, else the guardian's name.
    """
    check_can_work_at_desk(client, by=by)
    if agreed_by is None:
        check_health_consent(client)
        return
    kind = ConsentKind.HEALTH_RECORD
    record_consent(
        client=client,
        kind=kind,
        wording=consent_wording(client, kind, by_guardian=bool(agreed_by)),
        is_given=True,
        guardian=agreed_by,
        by=by,
        at=at,
    )


def check_health_consent(client: Client) -> None:
    """Refuse to keep more about a client who has withdrawn the consent."""
    if is_withdrawn(person.ids_of(client)):
        raise HealthConsentWithdrawn(
            _(
                "The client has withdrawn the consent to keep health data. Ask again first:"
                " nothing new is kept without it."
            )
        )
