"""Where the pictures lie: outside of what is served, a folder for each salon, random names.

A file is "SALONPH1", the number of the client's key in eight bytes, and the JPEG closed with
it; files of earlier releases are plain JPEG until `manage.py encrypt_photos` has run.
"""

import os
from collections.abc import Iterator
from pathlib import Path
from uuid import UUID

from django.conf import settings

from clients.models import Photo
from clients.photos.pictures import Picture
from clients.sealed import keys

ORDINARY, SMALL = "", "-small"
SIZES = (ORDINARY, SMALL)
MARK = b"SALONPH1"
_NUMBER = 8  # bytes


def folder() -> Path:
    """Return the folder of all photos."""
    return Path(settings.MEDIA_ROOT) / "photos"


def path_of(salon_id: int, key: UUID, size: str = ORDINARY) -> Path:
    """Return where a photo's file lies."""
    return folder() / str(salon_id) / f"{key.hex}{size}.jpg"


def put(photo: Photo, picture: Picture) -> None:
    """Write both sizes."""
    for size, content in ((ORDINARY, picture.content), (SMALL, picture.small)):
        put_file(photo, size, content)


def put_file(photo: Photo, size: str, content: bytes) -> None:
    """Write a JPEG of a photo, encrypted; only this service's own user may read it."""
    path = path_of(photo.salon_id, photo.key, size)
    folder().mkdir(mode=0o700, parents=True, exist_ok=True)
    path.parent.mkdir(mode=0o700, exist_ok=True)
    path.touch(mode=0o600, exist_ok=False)
    path.write_bytes(_closed(photo, size, content))


def read(photo: Photo, size: str = ORDINARY) -> bytes:
    """Return a photo as JPEG.

    Raises
    ------
    FileNotFoundError
        If it is deleted, or its client's key was destroyed.
    """
    stored = path_of(photo.salon_id, photo.key, size).read_bytes()
    if not stored.startswith(MARK):
        return stored
    start = len(MARK) + _NUMBER
    opened = keys.open_again(
        stored[start:],
        number=int.from_bytes(stored[len(MARK) : start]),
        label=_label(photo, size),
    )
    if opened is None:
        raise FileNotFoundError(path_of(photo.salon_id, photo.key, size))
    return opened


def encrypt(photo: Photo) -> bool:
    """Encrypt the files of a photo that lie plain; return whether there was one."""
    found = False
    for size in SIZES:
        path = path_of(photo.salon_id, photo.key, size)
        if not path.exists() or (plain := path.read_bytes()).startswith(MARK):
            continue
        part = path.with_suffix(".part")
        part.touch(mode=0o600)
        with part.open("wb") as out:
            out.write(_closed(photo, size, plain))
            out.flush()
            os.fsync(out.fileno())
        part.replace(path)
        found = True
    return found


def _closed(photo: Photo, size: str, content: bytes) -> bytes:
    number, closed = keys.close(
        content,
        client_id=photo.client_id,
        purpose=keys.Purpose.ORDINARY,
        label=_label(photo, size),
    )
    return MARK + number.to_bytes(_NUMBER) + closed


def _label(photo: Photo, size: str) -> str:
    return f"photo {photo.key.hex}{size}"


def remove(salon_id: int, key: UUID) -> None:
    """Delete both sizes; a file that is gone already is as good."""
    for size in SIZES:
        path_of(salon_id, key, size).unlink(missing_ok=True)


def keys_on_disk() -> Iterator[tuple[int, UUID, float]]:
    """Yield salon, key and time of every file."""
    for path in folder().glob("*/*.jpg"):
        try:
            yield (
                int(path.parent.name),
                UUID(path.stem.removesuffix(SMALL)),
                path.stat().st_mtime,
            )
        except (ValueError, FileNotFoundError):
            continue
