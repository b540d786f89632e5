"""Commands of this product run on another database."""

import os
import subprocess
import sys
from pathlib import Path

from django.conf import settings

from salon.backups.files import BackupFailed


def run(*command: str, database: str, media: Path | None = None) -> str:
    """Run `manage.py COMMAND` on the database of that URL; return what it says."""
    more = {"DATABASE_URL": database} | (
        {"MEDIA_ROOT": str(media), "MEDIA_STORAGE": ""} if media else {}
    )
    done = subprocess.run(  # noqa: S603 - this product's own commands
        [sys.executable, str(settings.BASE_DIR / "manage.py"), *command],
        env={**os.environ, **more},
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        raise BackupFailed(f"{command[0]} failed there: {done.stderr.strip()[-2000:]}")
    return done.stdout
