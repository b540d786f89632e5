"""How the pictures are stored: encrypted, a folder for each salon, random names.

A file is "SALONPH1", the number of the client's key in eight bytes, and the JPEG closed with
it; files of earlier releases are plain JPEG until `manage.py encrypt_photos` has run.
"""

import datetime as dt
from collections.abc import Iterator
from pathlib import PurePosixPath
from typing import Protocol
from uuid import UUID

from clients.photos.pictures import Picture
from clients.sealed import keys
from salon import media

ORDINARY, SMALL = "", "-small"
SIZES = (ORDINARY, SMALL)
MARK = b"SALONPH1"
FOLDER = "photos"
_NUMBER = 8  # bytes


class Stored(Protocol):
    """A photo of this salon, or one that came with the copy of a record."""

    @property
    def salon_id(self) -> int: ...

    @property
    def client_id(self) -> int: ...

    @property
    def key(self) -> UUID: ...


def name_of(salon_id: int, key: UUID, size: str = ORDINARY) -> str:
    """Return the name of a photo's file in the place of the pictures."""
    return f"{FOLDER}/{salon_id}/{key.hex}{size}.jpg"


def put(photo: Stored, picture: Picture) -> None:
    """Write both sizes."""
    for size, content in ((ORDINARY, picture.content), (SMALL, picture.small)):
        put_file(photo, size, content)


def put_file(photo: Stored, size: str, content: bytes) -> None:
    """Write a JPEG of a photo, encrypted; only this service's own user may read it."""
    media.write(name_of(photo.salon_id, photo.key, size), _closed(photo, size, content))


def exists(photo: Stored, size: str = ORDINARY) -> bool:
    """Return whether a photo's file is there."""
    return media.media().exists(name_of(photo.salon_id, photo.key, size))


def read(photo: Stored, size: str = ORDINARY) -> bytes:
    """Return a photo as JPEG.

    Raises
    ------
    FileNotFoundError
        If it is deleted, or its client's key was destroyed.
    """
    name = name_of(photo.salon_id, photo.key, size)
    stored = media.read(name)
    if not stored.startswith(MARK):
        return stored
    start = len(MARK) + _NUMBER
    opened = keys.open_again(
        stored[start:],
        number=int.from_bytes(stored[len(MARK) : start]),
        label=_label(photo, size),
    )
    if opened is None:
        raise FileNotFoundError(name)
    return opened


def encrypt(photo: Stored) -> bool:
    """Encrypt the files of a photo that are not encrypted; return whether there was one."""
    found = False
    for size in SIZES:
        name = name_of(photo.salon_id, photo.key, size)
        if not exists(photo, size) or (plain := media.read(name)).startswith(MARK):
            continue
        media.media().replace(name, _closed(photo, size, plain))
        found = True
    return found


def _closed(photo: Stored, size: str, content: bytes) -> bytes:
    number, closed = keys.close(
        content,
        client_id=photo.client_id,
        purpose=keys.Purpose.ORDINARY,
        label=_label(photo, size),
    )
    return MARK + number.to_bytes(_NUMBER) + closed


def _label(photo: Stored, size: str) -> str:
    return f"photo {photo.key.hex}{size}"


def remove(salon_id: int, key: UUID) -> None:
    """Delete both sizes; a file that is gone already is as good."""
    for size in SIZES:
        media.media().delete(name_of(salon_id, key, size))


def stored_keys() -> Iterator[tuple[int, UUID, dt.datetime]]:
    """Yield salon, key and time of every file."""
    for file in media.media().files(FOLDER):
        path = PurePosixPath(file.name)
        if path.suffix != ".jpg":
            continue
        try:
            yield int(path.parent.name), UUID(path.stem.removesuffix(SMALL)), file.at
        except ValueError:
            continue
