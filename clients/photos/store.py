"""Where the pictures lie: outside of what is served, a folder for each salon, random names."""

from collections.abc import Iterator
from pathlib import Path
from uuid import UUID

from django.conf import settings

from clients.photos.pictures import Picture

ORDINARY, SMALL = "", "-small"


def folder() -> Path:
    """Return the folder of all photos."""
    return Path(settings.MEDIA_ROOT) / "photos"


def path_of(salon_id: int, key: UUID, size: str = ORDINARY) -> Path:
    """Return where a photo's file lies."""
    return folder() / str(salon_id) / f"{key.hex}{size}.jpg"


def put(salon_id: int, key: UUID, picture: Picture) -> None:
    """Write both sizes; only this service's own user may read them."""
    place = path_of(salon_id, key).parent
    folder().mkdir(mode=0o700, parents=True, exist_ok=True)
    place.mkdir(mode=0o700, exist_ok=True)
    for size, content in ((ORDINARY, picture.content), (SMALL, picture.small)):
        path = path_of(salon_id, key, size)
        path.touch(mode=0o600, exist_ok=False)
        path.write_bytes(content)


def remove(salon_id: int, key: UUID) -> None:
    """Delete both sizes; a file that is gone already is as good."""
    for size in (ORDINARY, SMALL):
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
