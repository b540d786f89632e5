"""Photos that came with the copy of a record from another salon: stored like one's own."""

import datetime as dt
import uuid
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypedDict
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from django.utils.formats import date_format

from clients.models import Moment, Part, Photo, ReceivedRecord
from clients.photos import store


class StoredPhoto(TypedDict):
    """A photo as its record names it: no words, nobody's name."""

    key: str
    taken_at: str
    moment: str
    part: str


@dataclass(frozen=True)
class ReceivedPhoto:
    """A photo of a copy: where its files lie and whose key closes them."""

    salon_id: int
    client_id: int
    key: UUID
    taken_at: dt.datetime
    moment: str
    part: str

    @property
    def label(self) -> str:
        """What it shows and when, for those who cannot see it."""
        when = date_format(timezone.localtime(self.taken_at), "DATE_FORMAT")
        return f"{Moment(self.moment).label}, {Part(self.part).label}, {when}"


def photos_of(record: ReceivedRecord) -> list[ReceivedPhoto]:
    """Return the photos of a copy, latest first."""
    found = [
        ReceivedPhoto(
            salon_id=record.salon_id,
            client_id=record.client_id,
            key=UUID(one["key"]),
            taken_at=dt.datetime.fromisoformat(one["taken_at"]),
            moment=one["moment"],
            part=one["part"],
        )
        for one in record.photos
    ]
    return sorted(found, key=lambda photo: photo.taken_at, reverse=True)


def taken_before(record: ReceivedRecord, moment: dt.datetime | None) -> list[StoredPhoto]:
    """Return the photos of a copy that are older than a moment; without one, all."""
    rows: list[StoredPhoto] = record.photos
    return [
        row
        for row in rows
        if moment is None or dt.datetime.fromisoformat(row["taken_at"]) < moment
    ]


def all_photos() -> Iterator[ReceivedPhoto]:
    """Yield every photo of every copy."""
    for record in ReceivedRecord.objects.exclude(photos=[]):
        yield from photos_of(record)


def copy(photos: Iterable[Photo], *, salon_id: int, client_id: int) -> Sequence[StoredPhoto]:
    """Write photos of another salon's client again for a client here; one that is gone is not.

    If the caller's transaction does not end well, `sweep_photos` deletes the files.
    """
    stored = []
    for photo in photos:
        new = ReceivedPhoto(
            salon_id, client_id, uuid.uuid4(), photo.taken_at, photo.moment, photo.part
        )
        try:
            for size in store.SIZES:
                store.put_file(new, size, store.read(photo, size))
        except FileNotFoundError:
            store.remove(salon_id, new.key)
            continue
        stored.append(
            StoredPhoto(
                key=new.key.hex,
                taken_at=new.taken_at.isoformat(),
                moment=new.moment,
                part=new.part,
            )
        )
    return stored


def remove_later(salon_id: int, photos: Iterable[StoredPhoto]) -> None:
    """Delete files once their record no longer names them; what is left then can be swept."""
    for photo in photos:
        key = UUID(photo["key"])
        transaction.on_commit(lambda key=key: store.remove(salon_id, key))  # type: ignore[misc]
