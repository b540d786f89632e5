"""Whether a client agrees that health data are kept: asked first, and can be withdrawn."""

import datetime as dt
from dataclasses import dataclass

from django.db.models import OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce

from clients.models import Client, Consent, ConsentKind
from clients.people import person
from clients.people.age import ADULT_AGE
from clients.people.consent_texts import consent_wording
from clients.people.health_consent import is_withdrawn, last_word
from clients.selectors.desk import today
from salon.models import Role, Staff


@dataclass(frozen=True)
class HealthConsent:
    """The client's last word, and the words that they are asked in."""

    wording: str
    spoken: str  # the language of the words
    last: Consent | None
    is_minor: bool

    @property
    def is_given(self) -> bool:
        """Whether tests and answers may be kept."""
        return self.last is not None and self.last.is_given

    @property
    def is_withdrawn(self) -> bool:
        """Whether the client agreed once, or refused, and no longer agrees."""
        return self.last is not None and not self.last.is_given


def health_consent(*, client: Client, at: dt.datetime) -> HealthConsent:
    """Return the client's answer about keeping tests, allergies and answers."""
    kind = ConsentKind.HEALTH_RECORD
    whole = person.root(client)
    age = whole.age_on(today(salon=client.salon, at=at))
    is_minor = age is not None and age < ADULT_AGE
    return HealthConsent(
        wording=consent_wording(client, kind, by_guardian=is_minor),
        spoken=client.speaks(client.salon),
        last=last_word(person.ids_of(client)),
        is_minor=is_minor,
    )


def is_shut_for(viewer: Staff, *, client: Client) -> bool:
    """Return whether what had to be kept is not shown to this member of staff."""
    return viewer.role != Role.OWNER and is_withdrawn(person.ids_of(client))


def withdrawn_among(clients: list[Client]) -> set[int]:
    """Return the people, by id, who have withdrawn it."""
    if not clients:
        return set()
    entries = person.entries_of(clients)
    rows = Consent.objects.filter(client__in=entries, kind=ConsentKind.HEALTH_RECORD)
    last: dict[int, bool] = {}
    for client, is_given in rows.order_by("recorded_at", "pk").values_list(
        "client", "is_given"
    ):
        last[entries[client]] = is_given
    return {own_id for own_id, is_given in last.items() if not is_given}


def any_withdrawn(people: QuerySet[Client]) -> bool:
    """Return whether one of the people has withdrawn it, in one query."""
    last = Consent.objects.filter(
        person.named_by("client", OuterRef("own_id")), kind=ConsentKind.HEALTH_RECORD
    ).order_by("-recorded_at", "-pk")
    rows = people.annotate(own_id=Coalesce("merged_into", "pk"))
    return (
        rows.annotate(agrees=Subquery(last.values("is_given")[:1]))
        .filter(agrees=False)
        .exists()
    )
