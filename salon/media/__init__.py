"""Where pictures are stored: a folder of this machine, or a bucket of an object store.

Both speak Django's storage API, and two words more: `files` lists what is there, `replace`
puts other content under a name that exists. Nothing has an address of its own: a view gives a
picture to those who may see it.
"""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol, cast

from django.core.files.base import ContentFile, File
from django.core.files.storage import default_storage


@dataclass(frozen=True)
class Stored:
    """A file: its name with slashes, and when it was written."""

    name: str
    at: dt.datetime


class Media(Protocol):
    """What a folder and a bucket both can."""

    def files(self, prefix: str = "") -> Iterator[Stored]:
        """Yield every file whose name begins with a folder's, in the order of the names."""
        ...

    def replace(self, name: str, content: bytes) -> None:
        """Put other content under a name; a reader gets the old or the new, never half."""
        ...

    def save(self, name: str, content: "File[bytes]") -> str: ...

    def open(self, name: str) -> "File[bytes]": ...

    def delete(self, name: str) -> None: ...

    def exists(self, name: str) -> bool: ...


def media() -> Media:
    """Return the place that the settings name."""
    return cast(Media, default_storage)


def read(name: str, place: Media | None = None) -> bytes:
    """Return what a file holds; FileNotFoundError if there is none."""
    with (place or media()).open(name) as file:
        content: bytes = file.read()
        return content


def write(name: str, content: bytes, place: Media | None = None) -> None:
    """Write a new file; FileExistsError if there is one of that name."""
    place = place or media()
    if (written := place.save(name, ContentFile(content))) != name:
        place.delete(written)
        raise FileExistsError(name)
