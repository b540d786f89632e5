"""Reads of the photos; without a standing consent nothing is shown."""

from dataclasses import dataclass

from django.db.models import Count, OuterRef, Subquery

from clients.models import (
    Appointment,
    Client,
    Consent,
    ConsentKind,
    Moment,
    Photo,
    ReceivedRecord,
)
from clients.people import person
from clients.people.consent_texts import consent_wording
from clients.photos import received
from clients.selectors.clients import consents_in_force
from salon.models import Salon


@dataclass(frozen=True)
class PhotoConsent:
    """The client's last word on photos, and the words that are asked."""

    wording: str
    last: Consent | None

    @property
    def is_given(self) -> bool:
        """Whether photos may be taken and shown."""
        return self.last is not None and self.last.is_given


@dataclass(frozen=True)
class Sitting:
    """The photos of one appointment, before beside after."""

    appointment: Appointment
    before: list[Photo]
    after: list[Photo]


def photo_consent(*, client: Client) -> PhotoConsent:
    """Return the client's answer about photos."""
    last = consents_in_force(client=client).get(ConsentKind.PHOTOS)
    return PhotoConsent(consent_wording(client, ConsentKind.PHOTOS), last)


def photos_of(*, appointment: Appointment, moment: str | None = None) -> list[Photo]:
    """Return the photos of an appointment, removed ones among them with their removal."""
    rows = Photo.objects.filter(appointment=appointment)
    if moment:
        rows = rows.filter(moment=moment)
    return list(rows.select_related("taken_by", "removal__removed_by"))


def stored_photos(*, client: Client) -> list[Photo]:
    """Return every photo of the person that is not deleted, whether it may be shown or not."""
    ids = person.ids_of(client)
    return list(Photo.objects.filter(client__in=ids, removal__isnull=True))


def copies_with_photos(*, client: Client) -> list[ReceivedRecord]:
    """Return the copies from other salons that hold photos of the person."""
    rows = ReceivedRecord.objects.filter(client__in=person.ids_of(client))
    return list(rows.exclude(photos=[]).select_related("salon"))


def photos_left(*, client: Client) -> int:
    """Return how many photos are stored although the client does not agree."""
    consent = photo_consent(client=client)
    if consent.is_given:
        return 0
    left = len(stored_photos(client=client))
    if consent.last is not None:  # what came from another salon came by a consent of its own
        left += sum(len(row.photos) for row in copies_with_photos(client=client))
    return left


def sittings(*, client: Client) -> list[Sitting]:
    """Return a person's photos by appointment, latest first."""
    photos = Photo.objects.filter(
        client__in=person.ids_of(client), removal__isnull=True
    ).select_related("appointment__service", "taken_by", "salon")
    by_appointment: dict[int, Sitting] = {}
    for photo in photos:
        found = by_appointment.setdefault(
            photo.appointment_id, Sitting(photo.appointment, [], [])
        )
        (found.before if photo.moment == Moment.BEFORE else found.after).append(photo)
    return sorted(
        by_appointment.values(), key=lambda sitting: sitting.appointment.starts_at, reverse=True
    )


def may_be_shown(photo: Photo) -> bool:
    """Whether the person whose hair it is agrees, as of now."""
    return photo_consent(client=photo.client).is_given


def copied_photos(record: ReceivedRecord) -> list[received.ReceivedPhoto]:
    """Return the photos of a copy from another salon, unless the client does not agree here."""
    last = photo_consent(client=record.client).last
    is_withdrawn = last is not None and not last.is_given
    return [] if is_withdrawn else received.photos_of(record)


def withdrawn_with_photos(*, salon: Salon) -> list[tuple[Client, int]]:
    """Return the people who no longer agree, and how many photos of them are still stored."""
    last = Consent.objects.filter(
        person.named_by("client", OuterRef("pk")),
        kind=ConsentKind.PHOTOS,
    ).order_by("-recorded_at", "-pk")
    kept = Photo.objects.filter(salon=salon, removal__isnull=True).order_by()
    counts = dict(
        kept.annotate(person=person.id_through("client"))
        .values_list("person")
        .annotate(n=Count("pk"))
    )
    copies = ReceivedRecord.objects.filter(salon=salon).exclude(photos=[])
    for row in copies.select_related("client"):
        own_id = person.root_id(row.client)
        counts[own_id] = counts.get(own_id, 0) + len(row.photos)
    people = (
        Client.objects.for_salon(salon)
        .filter(pk__in=counts)
        .annotate(agrees=Subquery(last.values("is_given")[:1]))
        .filter(agrees=False)
    )
    return [(client, counts[client.pk]) for client in people]
