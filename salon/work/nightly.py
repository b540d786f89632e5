"""Jobs of the ground floor: a backup each night where a folder is set, and tidying."""

import datetime as dt
from pathlib import Path

from django.conf import settings
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from salon import key_inventory
from salon.models import StaffSession, Submission
from salon.work import lease, runs
from salon.work.timetable import run_command

ENDED_KEPT = dt.timedelta(days=14)
# A form is sent twice within minutes; a tab may stay open over a holiday.
SUBMISSIONS_KEPT = dt.timedelta(days=30)
NAME = "salon-%Y%m%dT%H%M%SZ.closed"
PHOTOS = ".photos.tar"


def has_folder() -> bool:
    """Return whether a folder for backups is set."""
    return bool(settings.BACKUP_DIR)


def back_up() -> None:
    """Back up into the folder, then delete backups older than they are kept."""
    run_command("backup")
    oldest = timezone.now() - dt.timedelta(days=settings.BACKUP_KEEP_DAYS)
    for file in Path(settings.BACKUP_DIR).iterdir():
        made_at = _made_at(file.name.removesuffix(PHOTOS))
        if made_at and made_at < oldest:
            file.unlink()


def next_file() -> Path:
    """Return where a backup made now goes; the folder is made."""
    folder = Path(settings.BACKUP_DIR)
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    return folder / timezone.now().astimezone(dt.UTC).strftime(NAME)


def newest_backup() -> dt.datetime | None:
    """Return when the newest backup in the folder was made; None where there is none.

    One that is being written has no name yet, so it does not count.
    """
    folder = Path(settings.BACKUP_DIR)
    if not settings.BACKUP_DIR or not folder.is_dir():
        return None
    made = (_made_at(file.name) for file in folder.iterdir())
    return max((at for at in made if at), default=None)


def _made_at(name: str) -> dt.datetime | None:
    try:
        return dt.datetime.strptime(name, NAME).replace(tzinfo=dt.UTC)
    except ValueError:
        return None


def tidy() -> None:
    """Delete what served its turn: ended tasks and sessions, keys of forms that were sent."""
    now = timezone.now()
    DBTaskResult.objects.finished().filter(finished_at__lt=now - ENDED_KEPT).delete()
    StaffSession.objects.filter(expire_date__lt=now).delete()
    Submission.objects.filter(at__lt=now - SUBMISSIONS_KEPT).delete()
    lease.forget_old()
    runs.tidy()
    key_inventory.keys(at=now)  # notes those that are new
