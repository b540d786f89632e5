"""Where anchors go beside the owners' mail: a folder that may be on another machine."""

import datetime as dt
from pathlib import Path

from django.conf import settings

from consult.models import Anchor


def folder_of(salon_id: int) -> Path | None:
    """Return the folder of a salon's anchors, or None where no folder is set."""
    return Path(settings.ANCHOR_DIR) / f"salon-{salon_id}" if settings.ANCHOR_DIR else None


def name_of(anchor: Anchor) -> str:
    """Return the name of an anchor's file: in the order of their numbers and times."""
    made_at = anchor.made_at.astimezone(dt.UTC)
    return f"sign-offs-{anchor.position:06d}-{made_at:%Y%m%dT%H%M%SZ}.txt"


def write(anchor: Anchor) -> Path | None:
    """Write an anchor, and its time stamp beside it, into the folder; never over another."""
    folder = folder_of(anchor.salon_id)
    if folder is None:
        return None
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / name_of(anchor)
    with file.open("x", encoding="utf-8") as out:
        out.write(anchor.text)
    if anchor.stamp:
        stamp_beside(file).write_bytes(anchor.stamp_file)
    return file


def stamp_beside(file: Path) -> Path:
    """Return where the time stamp of an anchor's file is."""
    return file.with_suffix(".tsr")


def files_in(place: Path) -> list[Path]:
    """Return the anchors of a folder and those below it, or the file itself."""
    return sorted(place.rglob("sign-offs-*.txt")) if place.is_dir() else [place]
