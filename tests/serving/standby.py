"""Two servers of PostgreSQL on this machine: one writes, the other follows its log."""

import os
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psycopg
import pytest
from django.db import connection

from salon.tools import with_postgres

DUMP, RESTORE = ["pg_dump"], ["pg_restore"]


def copied_to(url: str, name: str) -> str:
    """Copy a database of the tests' server to another server; return its address there."""
    known = connection.settings_dict
    source = ["-h", known["HOST"], "-p", str(known["PORT"] or 5432), "-U", known["USER"]]
    with tempfile.NamedTemporaryFile() as file:
        dump = [*DUMP, *source, "--no-owner", "--no-privileges", "-Fc", "-f", file.name]
        subprocess.run([*dump, name], check=True)
        subprocess.run(
            [*RESTORE, "-d", url, "--no-owner", file.name], check=True,
            env={**os.environ, "PGOPTIONS": ""},
        )  # fmt: skip
    return url


def programs() -> Path:
    """Return the folder of the server's programs; skip where there are none."""
    folder = with_postgres.binaries()
    if folder is not None and (folder / "pg_basebackup").exists():
        return folder
    missing = "PostgreSQL's initdb and pg_basebackup are not installed"
    if os.environ.get("REQUIRE_POSTGRES") == "1":
        pytest.fail(missing)
    pytest.skip(missing)


@dataclass
class Standby:
    """A server that follows another, and notes every statement it is asked."""

    folder: Path
    data: str
    log: Path
    port: int

    @property
    def url(self) -> str:
        return f"postgres://postgres@127.0.0.1:{self.port}/postgres"

    def said(self) -> str:
        return self.log.read_text(errors="replace")

    def ask(self, statement: str) -> Any:
        with psycopg.connect(self.url, autocommit=True) as open_one:
            found = open_one.execute(statement.encode()).fetchone()
        return found[0] if found else None

    def hold(self) -> None:
        """Receive, but show nothing new."""
        self.ask("SELECT pg_wal_replay_pause()")
        while self.ask("SELECT pg_get_wal_replay_pause_state()") != "paused":
            pass

    def go_on(self) -> None:
        self.ask("SELECT pg_wal_replay_resume()")

    def start(self) -> None:
        options = (
            f"-p {self.port} -h 127.0.0.1 -k {Path(self.data).parent}"
            " -c fsync=off -c log_statement=all"
        )
        self._run("pg_ctl", "-D", self.data, "-l", self.log, "-o", options, "-w", "start")

    def stop(self) -> None:
        self._run("pg_ctl", "-D", self.data, "-m", "immediate", "-w", "stop")

    def _run(self, program: str, *arguments: str | Path) -> None:
        quiet: dict[str, Any] = {"stdout": subprocess.DEVNULL, "cwd": "/"}
        subprocess.run(
            [self.folder / program, *arguments], check=True,
            **quiet, **with_postgres.as_server_user(),
        )  # fmt: skip


@contextmanager
def following(primary: str) -> Iterator[Standby]:
    """Start a replica of the server at `primary`; stop and remove it afterwards."""
    folder, drop = programs(), with_postgres.as_server_user()
    with tempfile.TemporaryDirectory(prefix="salon-standby-") as temporary:
        if drop:
            os.chown(temporary, drop["user"], drop["group"])
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        made = Standby(folder, f"{temporary}/data", Path(temporary, "log"), port)
        made._run("pg_basebackup", "-D", made.data, "-d", primary, "-R", "-c", "fast")
        made.start()
        try:
            yield made
        finally:
            with psycopg.connect(primary):  # the primary outlives it
                pass
            if Path(made.data, "postmaster.pid").exists():
                made.stop()
