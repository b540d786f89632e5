"""The client's own end of reminders, by the link in a mail."""

import datetime as dt

from django.db import transaction

from clients.models import Client, Consent, ConsentKind
from clients.people import consent_texts, person
from salon import audit


@transaction.atomic
def stop_reminders(*, client: Client, at: dt.datetime) -> Consent:
    """Withdraw the consent to reminders in the client's own name; once is enough.

    Nobody is signed in: the signed link is the permission. The desk can record a new consent
    whenever the client gives one.
    """
    locked = Client.objects.select_for_update().get(pk=person.root_id(client))
    last = (
        Consent.objects.filter(client__in=person.ids_of(locked), kind=ConsentKind.REMINDERS)
        .order_by("recorded_at", "pk")
        .last()
    )
    if last is not None and not last.is_given:
        return last
    consent = Consent.objects.create(
        client=client,
        kind=ConsentKind.REMINDERS,
        wording=consent_texts.consent_wording(client, ConsentKind.REMINDERS),
        is_given=False,
        recorded_by=None,
        recorded_at=at,
    )
    audit.record_event(
        "consent recorded", target=consent, by=None, at=at, salon=client.salon, given=False
    )
    return consent
