"""The photos as one archive."""

import hashlib
import io
import tarfile
from collections.abc import Iterator
from pathlib import Path

from salon import media
from salon.backups import files
from salon.backups.files import BackupFailed, whole
from salon.encrypted_file import Writer
from salon.files.store import FOLDER
from salon.media import Media


def copy(archive: Path) -> int:
    """Write every stored picture; return how many, each read back and compared."""
    with whole(archive) as part:
        digests = _write(part)
        with files.archive(part) as entries:
            for entry in entries:
                read = entries.extractfile(entry)
                if read is None or hashlib.sha256(read.read()).digest() != digests[entry.name]:
                    raise BackupFailed(f"The copy of {entry.name} is damaged.")
    return len(digests)


def put_back(archive: Path) -> int:
    """Unpack an archive to where pictures are stored, an empty place; return how many."""
    place = media.media()
    if any(_is_kept(file.name) for file in place.files()):
        raise BackupFailed(f"There are photos in {place}. Move them away first.")
    count = 0
    with files.archive(archive) as entries:
        for entry in entries:
            content = entries.extractfile(entry)
            if content is None:
                raise BackupFailed(f"{entry.name} in {archive} is no file.")
            media.write(entry.name, content.read())
            count += 1
    return count


def digests(place: Media | None = None) -> dict[str, bytes]:
    """Return the SHA-256 of every picture by its name."""
    found = _files(place or media.media())
    return {name: hashlib.sha256(content).digest() for name, _at, content in found}


def _write(archive: Path) -> dict[str, bytes]:
    found = {}
    with (
        archive.open("wb") as out,
        Writer(out) as closed,
        tarfile.open(fileobj=closed, mode="w|") as tar,
    ):
        for name, at, content in _files(media.media()):
            entry = tarfile.TarInfo(name)
            entry.size, entry.mode, entry.mtime = len(content), 0o600, at
            tar.addfile(entry, io.BytesIO(content))
            found[name] = hashlib.sha256(content).digest()
    return found


def _files(place: Media) -> Iterator[tuple[str, int, bytes]]:
    """Yield name, time and content of every picture that is still there when it is read."""
    for file in place.files():
        if not _is_kept(file.name):
            continue
        try:
            content = media.read(file.name, place)
        except FileNotFoundError:
            continue
        yield file.name, int(file.at.timestamp()), content


def _is_kept(name: str) -> bool:
    """Return whether a backup holds it: a file of a day is made again instead."""
    return not name.startswith(f"{FOLDER}/")
