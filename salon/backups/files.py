"""Files of a backup: written whole or not at all, encrypted, read in pieces."""

import contextlib
import io
import os
import tarfile
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any

from salon import encrypted_file


class BackupFailed(Exception):
    """Raised with the reason why there is no copy, or why it is not put back."""


@contextlib.contextmanager
def whole(file: Path) -> Iterator[Path]:
    """Give a file to write to that gets its name once it is complete; half a one is deleted.

    Only its owner reads it: it holds health data.
    """
    part = file.with_name(f"{file.name}.part")
    part.unlink(missing_ok=True)  # of a run that was killed
    part.touch(mode=0o600)
    try:
        yield part
        with part.open("rb") as done:
            os.fsync(done.fileno())
        part.replace(file)
    finally:
        part.unlink(missing_ok=True)


def opened(source: IO[bytes]) -> Iterator[bytes]:
    """Yield what a file of a backup holds; one from before backups were encrypted, too."""
    start = source.read(len(encrypted_file.MARK))
    source.seek(0)
    if encrypted_file.is_encrypted(start):
        yield from encrypted_file.pieces(source)
        return
    while content := source.read(encrypted_file.PIECE):
        yield content


class Reader(io.RawIOBase):
    """What a file of a backup holds, as a stream."""

    def __init__(self, source: IO[bytes]) -> None:
        self._pieces, self._rest = opened(source), b""

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: Any) -> int:
        """Fill the buffer; 0 at the end."""
        if not self._rest:
            self._rest = next(self._pieces, b"")
        given, self._rest = self._rest[: len(buffer)], self._rest[len(buffer) :]
        buffer[: len(given)] = given
        return len(given)


@contextlib.contextmanager
def archive(file: Path) -> Iterator[tarfile.TarFile]:
    """Give the entries of an archive in a file of a backup, in their order."""
    with file.open("rb") as source:
        stream = io.BufferedReader(Reader(source))
        with tarfile.open(fileobj=stream, mode="r|") as entries:
            yield entries
