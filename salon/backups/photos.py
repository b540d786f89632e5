"""The photos as one archive."""

import hashlib
import io
import tarfile
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings

from salon.backups import files
from salon.backups.files import BackupFailed, whole
from salon.encrypted_file import Writer


def copy(archive: Path) -> int:
    """Write every file of the media folder; return how many, each read back and compared."""
    with whole(archive) as part:
        digests = _write(part)
        with files.archive(part) as entries:
            for entry in entries:
                read = entries.extractfile(entry)
                if read is None or hashlib.sha256(read.read()).digest() != digests[entry.name]:
                    raise BackupFailed(f"The copy of {entry.name} is damaged.")
    return len(digests)


def put_back(archive: Path) -> int:
    """Unpack an archive into the media folder, which has to be empty; return how many."""
    root = Path(settings.MEDIA_ROOT)
    if digests():
        raise BackupFailed(f"There are photos in {root}. Move them away first.")
    root.mkdir(parents=True, exist_ok=True)
    count = 0
    with files.archive(archive) as entries:
        for entry in entries:
            entries.extract(entry, root, filter="data")
            count += 1
    return count


def digests(root: Path | None = None) -> dict[str, bytes]:
    """Return the SHA-256 of every file of a media folder by its name."""
    root = root or Path(settings.MEDIA_ROOT)
    return {name: hashlib.sha256(content).digest() for name, _at, content in _files(root)}


def _write(archive: Path) -> dict[str, bytes]:
    found = {}
    with (
        archive.open("wb") as out,
        Writer(out) as closed,
        tarfile.open(fileobj=closed, mode="w|") as tar,
    ):
        for name, at, content in _files(Path(settings.MEDIA_ROOT)):
            entry = tarfile.TarInfo(name)
            entry.size, entry.mode, entry.mtime = len(content), 0o600, at
            tar.addfile(entry, io.BytesIO(content))
            found[name] = hashlib.sha256(content).digest()
    return found


def _files(root: Path) -> Iterator[tuple[str, int, bytes]]:
    """Yield name, time and content of every file; what is deleted meanwhile is left out."""
    for path in sorted(root.rglob("*")):
        if path.is_symlink() or not path.is_file():
            continue
        try:
            content, at = path.read_bytes(), int(path.stat().st_mtime)
        except FileNotFoundError:
            continue
        yield path.relative_to(root).as_posix(), at, content
