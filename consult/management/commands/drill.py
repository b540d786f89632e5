"""`manage.py drill`: back up, restore elsewhere, compare; nothing of the salon changes."""

import contextlib
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

import psycopg
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from psycopg import sql

from salon.backups import elsewhere, photos, postgres, rows
from salon.backups.files import BackupFailed
from salon.media.folder import Folder

NO_PLACE = (
    "{} may create no database to restore into. Run the drill as the account that owns the"
    " database: with containers by `docker compose run --rm drill`."
)


class Command(BaseCommand):
    """A backup that was never restored is a hope. Safe while the salon works."""

    help = "Back up into a temporary place, restore there, compare rows, chain and photos."

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            with tempfile.TemporaryDirectory(prefix="salon-drill-") as folder:
                self._drill(Path(folder))
        except (BackupFailed, psycopg.Error) as error:
            raise CommandError(f"The drill failed: {error}") from error

    def _drill(self, folder: Path) -> None:
        file, media = folder / "copy", folder / "media"
        before, taken = rows.counts(), photos.digests()
        call_command("backup", file, stdout=self.stdout)
        after, left = rows.counts(), photos.digests()
        with _empty_place(folder) as url:
            elsewhere.run("restore", str(file), database=url, media=media)
            restored = _counts(url)
            output = elsewhere.run("verify_signoffs", database=url)
        _compare(before, restored, after)
        # What was deleted or added during the drill may be there or not.
        stay = {name: taken[name] for name in taken.keys() & left.keys()}
        found = photos.digests(Folder(media))
        if lost := [name for name in stay if found.get(name) != stay[name]]:
            raise BackupFailed(f"Photos differ: {', '.join(sorted(lost)[:5])}")
        self.stdout.write(
            f"Restored and compared: {sum(restored.values())} rows, {len(stay)} photos."
        )
        self.stdout.write(output.strip())


def _compare(before: dict[str, int], restored: dict[str, int], after: dict[str, int]) -> None:
    """Refuse a table that has fewer rows than before and after, or more."""
    off = [
        f"{name} has {count}, {before[name]} before, {after[name]} after"
        for name, count in restored.items()
        if not min(before[name], after[name]) <= count <= max(before[name], after[name])
    ]
    if off:
        raise BackupFailed("; ".join(off))


@contextlib.contextmanager
def _empty_place(folder: Path) -> Iterator[str]:
    """Give the URL of an empty database of the same kind, and take it away afterwards."""
    if connection.vendor == "sqlite":
        yield f"sqlite:///{folder / 'restored.sqlite3'}"
        return
    known, name = connection.settings_dict, f"drill_{folder.name.rsplit('-', 1)[-1]}"
    place = sql.Identifier(name)
    with psycopg.connect(postgres.conninfo(known), autocommit=True) as server:
        try:
            server.execute(sql.SQL("CREATE DATABASE {}").format(place))
        except psycopg.errors.InsufficientPrivilege as error:
            raise BackupFailed(NO_PLACE.format(known["USER"])) from error
        try:
            login = quote(str(known["USER"] or ""))
            login += f":{quote(str(known['PASSWORD']))}" if known["PASSWORD"] else ""
            at = f"{known['HOST'] or 'localhost'}:{known['PORT'] or 5432}"
            yield f"postgres://{login}@{at}/{name}"
        finally:
            server.execute(sql.SQL("DROP DATABASE {} WITH (FORCE)").format(place))


def _counts(url: str) -> dict[str, int]:
    if url.startswith("sqlite:///"):
        return rows.sqlite_counts(url.removeprefix("sqlite:///"))
    with psycopg.connect(url) as other, other.cursor() as cursor:
        return rows.counted(cursor.execute, cursor.fetchone)
