"""A folder that only the account of this service may read."""

import datetime as dt
import os
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any

from django.core.files.storage import FileSystemStorage

from salon.media import Stored


class Folder(FileSystemStorage):
    """The folder MEDIA_ROOT, or another; files of it are never served by their names."""

    def __init__(self, location: str | Path | None = None) -> None:
        super().__init__(
            location=location, file_permissions_mode=0o600, directory_permissions_mode=0o700
        )

    def __str__(self) -> str:
        return str(self.location)

    def save(self, name: str | None, content: IO[Any], max_length: int | None = None) -> str:
        """Return once the disk has it: the row that names it is written after."""
        saved = super().save(name, content, max_length)
        with Path(self.path(saved)).open("rb") as written:
            os.fsync(written.fileno())
        return saved

    def files(self, prefix: str = "") -> Iterator[Stored]:
        """Yield every file; links are none, and what is deleted while it runs is left out."""
        root = Path(self.location)
        for path in sorted((root / prefix).rglob("*")):
            if path.is_symlink() or not path.is_file():
                continue
            try:
                at = path.stat().st_mtime
            except FileNotFoundError:
                continue
            name = path.relative_to(root).as_posix()
            yield Stored(name, dt.datetime.fromtimestamp(at, dt.UTC))

    def replace(self, name: str, content: bytes) -> None:
        """Write beside it, then rename."""
        path = Path(self.path(name))
        part = path.with_suffix(".part")
        part.touch(mode=0o600)
        with part.open("wb") as out:
            out.write(content)
            out.flush()
            os.fsync(out.fileno())
        part.replace(path)
