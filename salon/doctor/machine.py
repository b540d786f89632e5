"""The machine and the files: versions, disk, folders, static files, backups."""

import datetime as dt
import os
import platform
import shutil
import sys
import uuid
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.contrib.staticfiles.storage import ManifestFilesMixin, staticfiles_storage
from django.utils import timezone

from salon import media
from salon.doctor import Finding, fine, odd, wrong
from salon.health import FREE_BYTES_NEEDED
from salon.work import nightly

LITTLE_BYTES = 5 * FREE_BYTES_NEEDED
PYTHON = (3, 11)
BACKUP_AGE = dt.timedelta(hours=36)  # one each night, and a night that was late
MB = 1024 * 1024


def python() -> Iterator[Finding]:
    """Look at the version of Python."""
    if sys.version_info < PYTHON:
        yield wrong(
            "Python",
            f"This is Python {platform.python_version()}.",
            "Install Python 3.11 or newer.",
        )
    else:
        yield fine("Python", platform.python_version())


def disk() -> Iterator[Finding]:
    """Look at the room on each disk that is written to."""
    folders = {"what the service writes": settings.VAR_DIR}
    if not settings.STORAGES["default"].get("OPTIONS"):
        folders["the photos"] = Path(settings.MEDIA_ROOT)
    if settings.BACKUP_DIR:
        folders["the backups"] = Path(settings.BACKUP_DIR)
    for what, folder in folders.items():
        free = shutil.disk_usage(_existing(Path(folder))).free
        sentence = f"{free // MB:,} MB are free for {what} ({folder})."
        if free < FREE_BYTES_NEEDED:
            yield wrong("Disk", sentence, "Make room now: without it nothing can be saved.")
        elif free < LITTLE_BYTES:
            yield odd("Disk", sentence, "Make room, or give the service a larger disk.")
        else:
            yield fine("Disk", sentence)


def media_folder() -> Iterator[Finding]:
    """Write a file where photos are stored, read it and delete it."""
    name = f"photos/doctor-{uuid.uuid4().hex}"
    try:
        media.write(name, b"doctor")
        is_same = media.read(name) == b"doctor"
        media.media().delete(name)
    except Exception as error:  # an object store has errors of its own
        yield wrong(
            "Photos",
            f"No photo can be stored in {media.media()}: {error}",
            f"Let the account of the service (number {os.getuid()}) write there"
            f" (chown -R {os.getuid()} FOLDER), or mend MEDIA_STORAGE.",
        )
        return
    if is_same:
        yield fine("Photos", f"Photos can be stored in {media.media()}.")
    else:
        yield wrong(
            "Photos", f"{media.media()} gave back other content.", "Replace that disk or store."
        )


def static_files() -> Iterator[Finding]:
    """Look whether styles and scripts of this release were collected."""
    if not isinstance(staticfiles_storage, ManifestFilesMixin):
        yield fine("Static files", "They are served as they are (SALON_MODE=local).")
        return
    known = staticfiles_storage.hashed_files
    names = [name for finder in get_finders() for name, _storage in finder.list([])]
    missing = [name for name in names if name.replace("\\", "/") not in known]
    if missing:
        yield wrong(
            "Static files",
            f"{len(missing)} of {len(names)} styles, scripts and pictures are not collected"
            f" in {settings.STATIC_ROOT}.",
            "Run `manage.py collectstatic --no-input`, then start the service again.",
        )
    else:
        yield fine("Static files", f"All {len(names)} are collected.")


def backups() -> Iterator[Finding]:
    """Look at the age of the newest backup."""
    if not settings.BACKUP_DIR:
        yield odd(
            "Backup",
            "The product makes no backup by itself: BACKUP_DIR is not set.",
            "Set BACKUP_DIR to a folder on another disk, or be sure that something else runs"
            " `manage.py backup`.",
        )
        return
    newest = nightly.newest_backup()
    if newest is None:
        yield wrong(
            "Backup",
            f"There is no backup in {settings.BACKUP_DIR}.",
            "Start `manage.py worker`, which makes one each night, or run `manage.py backup`.",
        )
        return
    age = timezone.now() - newest
    sentence = f"The newest backup is {age.total_seconds() / 3600:.0f} hours old."
    if age > BACKUP_AGE:
        yield wrong(
            "Backup", sentence, "See in the log of `manage.py worker` why none was made."
        )
    else:
        yield fine("Backup", sentence)


def anchor_folder() -> Iterator[Finding]:
    """Look whether anchors and the list of erasures can be written."""
    if not settings.ANCHOR_DIR:
        yield odd(
            "Evidence",
            "Anchors of the sign-offs are kept in no folder: ANCHOR_DIR is not set.",
            "Set it to a folder on another machine; owners with an e-mail address get them"
            " by mail as well.",
        )
    for name, folder in (
        ("ANCHOR_DIR", settings.ANCHOR_DIR),
        ("ERASURE_LIST", str(Path(settings.ERASURE_LIST).parent)),
    ):
        if folder and not os.access(_existing(Path(folder)), os.W_OK):
            yield wrong(
                "Evidence",
                f"The folder of {name}, {folder}, cannot be written.",
                f"Let the account of the service (number {os.getuid()}) write there.",
            )


def _existing(folder: Path) -> Path:
    """Return the folder, or the nearest one above it that exists."""
    return next(path for path in (folder, *folder.absolute().parents) if path.exists())
