"""Consents, hair history, household and merges of one client."""

import datetime as dt
from dataclasses import dataclass

from django.db.models import QuerySet

from clients.models import PLAIN_KINDS, Client, ClientMerge, Consent, HairHistoryEntry
from clients.people import person
from clients.people.consent_texts import consent_wording
from clients.selectors.clients import consents_in_force
from clients.selectors.desk import desk_policy, today
from salon.models import Salon


@dataclass(frozen=True)
class ConsentLine:
    """One consent as the page shows it."""

    kind: str
    label: str
    wording: str
    last: Consent | None

    @property
    def is_given(self) -> bool:
        """Whether it is in force."""
        return self.last is not None and self.last.is_given


def consent_lines(*, client: Client, by_guardian: bool = False) -> list[ConsentLine]:
    """Return every consent that is asked for, with the latest word on it."""
    latest = consents_in_force(client=client)
    return [
        ConsentLine(
            kind.value,
            str(kind.label),
            consent_wording(client, kind, by_guardian=by_guardian),
            latest.get(kind),
        )
        for kind in PLAIN_KINDS
    ]


def hair_history(
    *, client: Client, at: dt.datetime, everything: bool = False
) -> QuerySet[HairHistoryEntry]:
    """Return what was done to the hair, as far back as the salon looks; withdrawn left out."""
    rows = HairHistoryEntry.objects.filter(
        client__in=person.ids_of(client), withdraws__isnull=True, withdrawn_by__isnull=True
    ).select_related("recorded_by")
    if everything:
        return rows
    years = desk_policy(salon=client.salon).history_years
    first = today(salon=client.salon, at=at) - dt.timedelta(days=round(365.25 * years))
    return rows.filter(happened_date__gte=first)


def household_of(client: Client) -> list[Client]:
    """Return the others of a client's household."""
    if client.household_id is None:
        return []
    members = Client.objects.for_salon(client.salon).in_register()
    return list(members.filter(household=client.household_id).exclude(pk=client.pk))


def merges_in_force(*, salon: Salon) -> QuerySet[ClientMerge]:
    """Return the merges that can be undone, latest first."""
    merges = ClientMerge.objects.filter(salon=salon, undone_at__isnull=True)
    return merges.select_related("kept", "merged", "merged_by")
