"""A PostgreSQL database, by its own pg_dump and pg_restore."""

import contextlib
import os
import shutil
import subprocess
from collections.abc import Mapping
from pathlib import Path
from typing import IO, Any, cast

from django.db import connection
from psycopg.conninfo import make_conninfo

from salon import encrypted_file
from salon.backups.files import BackupFailed, opened, whole


def copy(file: Path) -> None:
    """Write an encrypted dump to `file` and read it back; nobody has to wait for it."""
    with whole(file) as part:
        with part.open("wb") as out, encrypted_file.Writer(out) as closed:
            _dump(closed)
        with part.open("rb") as back:
            _feed([_program("pg_restore"), "--list"], back)


def put_back(file: Path) -> None:
    """Restore a dump into the database of the settings, which has to be empty.

    Rights are not part of it: `serving_account` sets them again.
    """
    if connection.introspection.table_names():
        raise BackupFailed(f"The database {_name()} is not empty.")
    command = [
        _program("pg_restore"), "--dbname", _name(), "--exit-on-error", "--single-transaction",
        "--no-owner", "--no-privileges",
    ]  # fmt: skip
    with file.open("rb") as source:
        _feed(command, source)


def environment(settings: Mapping[str, Any]) -> dict[str, str]:
    """Return the variables by which PostgreSQL's programs find a database of Django's."""
    known = _known(settings)
    named = {"dbname": "PGDATABASE"}
    variables = {named.get(key, f"PG{key.upper()}"): value for key, value in known.items()}
    return {**os.environ, **variables}


def conninfo(settings: Mapping[str, Any]) -> str:
    """Return how psycopg reaches a database of Django's."""
    return make_conninfo(**_known(settings))


def _known(settings: Mapping[str, Any]) -> dict[str, str]:
    named = {"host": "HOST", "port": "PORT", "user": "USER", "password": "PASSWORD"}
    known = {name: str(settings[key]) for name, key in named.items() if settings.get(key)}
    return {**known, "dbname": str(settings["NAME"])}


def _dump(out: encrypted_file.Writer) -> None:
    command = [_program("pg_dump"), "--format=custom", "--no-password"]
    with subprocess.Popen(  # noqa: S603 - its own words only
        command, env=environment(connection.settings_dict), stdout=subprocess.PIPE
    ) as running:
        output = cast(IO[bytes], running.stdout)
        while content := output.read(encrypted_file.PIECE):
            out.write(content)
    if running.returncode:
        raise BackupFailed("pg_dump failed; what it says stands above.")


def _feed(command: list[str], source: IO[bytes]) -> None:
    """Give a program the content of a file of a backup."""
    with subprocess.Popen(  # noqa: S603 - its own words only
        command,
        env=environment(connection.settings_dict),
        stdin=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
    ) as running:
        pipe = cast(IO[bytes], running.stdin)
        with contextlib.suppress(BrokenPipeError):  # it says itself why it stopped reading
            for piece in opened(source):
                pipe.write(piece)
            pipe.close()
    if running.returncode:
        raise BackupFailed(f"{Path(command[0]).name} failed; what it says stands above.")


def _program(name: str) -> str:
    found = shutil.which(name)
    if found is None:
        raise BackupFailed(
            f"{name} is not installed here (Debian: postgresql-client). Run it where the"
            " database is, and encrypt its output with `manage.py encrypted_file`."
        )
    return found


def _name() -> str:
    return str(connection.settings_dict["NAME"])
