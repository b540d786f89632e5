"""Where prepared files lie: beside the photos, encrypted, each turn under a name of its own."""

import datetime as dt
import io
import uuid
from collections.abc import Iterator
from typing import IO

from django.core.files.base import File

from salon import encrypted_file, media
from salon.models import PreparedFile

FOLDER = "prepared"


def put(file: PreparedFile, content: IO[bytes]) -> str:
    """Store what is encrypted already, under a new name; return the name."""
    name = f"{FOLDER}/{file.salon_id}/{uuid.uuid4().hex}"
    content.seek(0)
    return media.media().save(name, File(content))


def read(name: str) -> Iterator[bytes]:
    """Return a file in pieces, the first of them verified already.

    Raises
    ------
    FileNotFoundError
        If it is deleted.
    salon.encrypted_file.Damaged, salon.storage_key.KeyLost
        If it cannot be opened.
    """
    source = media.media().open(name)
    pieces = encrypted_file.pieces(source)
    try:
        first = next(pieces, b"")
    except BaseException:
        source.close()
        raise
    return _rest(source, first, pieces)


def _rest(source: File, first: bytes, pieces: Iterator[bytes]) -> Iterator[bytes]:  # type: ignore[type-arg]
    with source:
        yield first
        yield from pieces


def delete(name: str) -> None:
    """Delete a file; one that is gone is no fault."""
    media.media().delete(name)


def strays(*, known: set[str], before: dt.datetime) -> list[str]:
    """Return the names of stored files that no row carries and no turn still writes."""
    found = media.media().files(FOLDER)
    return [file.name for file in found if file.name not in known and file.at < before]


class Counted(io.RawIOBase):
    """Passes bytes on to an encrypted file and counts them."""

    def __init__(self, out: encrypted_file.Writer) -> None:
        self.out, self.size = out, 0

    def writable(self) -> bool:
        return True

    def write(self, content: bytes) -> int:  # type: ignore[override]
        self.size += len(content)
        return self.out.write(content)
