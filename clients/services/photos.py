"""Writes of the photos: taken with consent, removed with a reason, the file really deleted."""

import datetime as dt
from collections.abc import Iterable

from django.db import transaction
from django.utils.translation import gettext as _

from clients.models import (
    Appointment,
    Client,
    ConsentKind,
    Part,
    Photo,
    PhotoRemoval,
    RemovalReason,
    Status,
)
from clients.photos import store
from clients.photos.pictures import Picture
from clients.policies import check_can_take_photos
from clients.privacy.copies import drop_received_photos
from clients.selectors.clients import consents_in_force
from clients.selectors.photos import copies_with_photos, stored_photos
from salon import audit, outages
from salon.models import Staff
from salon.policies import require_owner
from salon.refusals import Refused

MOST = 24  # for one appointment
SEATED = (Status.CHECKED_IN, Status.IN_SERVICE, Status.DONE)


class PhotoRefused(Refused):
    """Raised with the reason why no photo is taken."""


@transaction.atomic
def take_photo(
    *,
    appointment: Appointment,
    picture: Picture,
    moment: str,
    part: str = Part.WHOLE,
    by: Staff,
    at: dt.datetime,
) -> Photo:
    """Keep a photo of the hair, if the client agrees."""
    check_can_take_photos(appointment, by=by)
    _check_may(appointment)
    photo = Photo(
        salon_id=appointment.salon_id,
        client_id=appointment.client_id,
        appointment=appointment,
        moment=moment,
        part=part,
        width=picture.width,
        height=picture.height,
        digest=picture.digest,
        taken_at=at,
        taken_by=by,
    )
    photo.full_clean()
    try:
        store.put(photo, picture)
        photo.save()
        audit.record_event("photo taken", target=photo, by=by, at=at, moment=moment)
    except BaseException as error:
        _leave_nothing(photo)
        if outages.is_store_away(error):
            raise PhotoRefused(
                _("The place of the photos does not answer. Try again in a moment."),
                code="store_away",
            ) from error
        raise
    return photo


def _leave_nothing(photo: Photo) -> None:
    """Delete what was written of a photo; what a store keeps that is away is swept later."""
    try:
        store.remove(photo.salon_id, photo.key)
    except Exception as error:
        if not outages.is_store_away(error):
            raise


@transaction.atomic
def remove_photo(*, photo: Photo, reason: str, by: Staff, at: dt.datetime) -> PhotoRemoval:
    """Delete a photo that should not have been taken; that it existed stays on record."""
    check_can_take_photos(photo, by=by)
    return _remove(photo, reason, by, at)


@transaction.atomic
def delete_withdrawn_photos(*, client: Client, by: Staff, at: dt.datetime) -> int:
    """Delete everything of a client who has withdrawn the consent."""
    require_owner(client, by=by)
    if _may_be_photographed(client):
        raise PhotoRefused(
            _("The client still agrees to photos: there is nothing to delete."),
            code="still_agrees",
        )
    photos = stored_photos(client=client)
    remove_all_photos(photos, RemovalReason.WITHDRAWN, by, at)
    copies = copies_with_photos(client=client)
    return len(photos) + drop_received_photos(copies, by=by, at=at)


def remove_all_photos(
    photos: Iterable[Photo], reason: str, removed_by: Staff | None, at: dt.datetime
) -> None:
    """Delete photos inside a service that has asked who may; one that is gone stays gone."""
    for photo in photos:
        _remove(photo, reason, removed_by, at)


def _remove(photo: Photo, reason: str, by: Staff | None, at: dt.datetime) -> PhotoRemoval:
    removal, is_new = PhotoRemoval.objects.get_or_create(
        photo=photo, defaults={"reason": reason, "removed_at": at, "removed_by": by}
    )
    if not is_new:  # two people at once: the first one's reason is kept
        return removal
    audit.record_event("photo removed", target=photo, by=by, at=at, reason=reason)
    # Not before the row exists: a file without its row can be swept, the reverse cannot.
    transaction.on_commit(lambda: store.remove(photo.salon_id, photo.key))
    return removal


def _check_may(appointment: Appointment) -> None:
    if appointment.status not in SEATED:
        raise PhotoRefused(
            _("Photos are taken while the client is here. Check in first."), code="not_here"
        )
    if not _may_be_photographed(appointment.client):
        raise PhotoRefused(_("The client has not agreed to photos."), code="no_consent")
    taken = Photo.objects.filter(appointment=appointment, removal__isnull=True).count()
    if taken >= MOST:
        raise PhotoRefused(
            _("This appointment already has %(n)d photos. Remove one first."),
            code="too_many",
            n=MOST,
        )


def _may_be_photographed(client: Client) -> bool:
    consent = consents_in_force(client=client).get(ConsentKind.PHOTOS)
    return consent is not None and consent.is_given
