"""Run a command with DATABASE_URL pointing at PostgreSQL: `with_postgres.py COMMAND...`.

Uses DATABASE_URL if it is set, else a server on 127.0.0.1:5432 that lets `postgres` in,
else a throw-away cluster from the machine's own binaries. Where none exists it says so
loudly; with REQUIRE_POSTGRES=1 that is a failure.
"""

import contextlib
import os
import pwd
import shutil
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import psycopg

LOCAL = "postgres://postgres@127.0.0.1:5432/postgres"
# A test's data may be lost with the machine.
QUICK = "-c synchronous_commit=off"
BANNER = "!" * 72


def answers(url: str) -> bool:
    """Return whether a server answers at `url`."""
    try:
        psycopg.connect(url, connect_timeout=3).close()
    except psycopg.Error:
        return False
    return True


def binaries() -> Path | None:
    """Return the folder of the newest installed server binaries."""
    found = sorted(
        Path("/usr/lib/postgresql").glob("*/bin/initdb"),
        key=lambda path: int(path.parts[-3]),
    )
    if found:
        return found[-1].parent
    on_path = shutil.which("initdb")
    return Path(on_path).resolve().parent if on_path else None


def as_server_user() -> dict[str, Any]:
    """Return subprocess arguments that drop root, since the server refuses to run as root."""
    if os.getuid() != 0:
        return {}
    for name in ("postgres", "nobody"):
        with contextlib.suppress(KeyError):
            user = pwd.getpwnam(name)
            return {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}
    return {}


@contextlib.contextmanager
def throw_away_cluster(folder: Path) -> Iterator[str]:
    """Start a cluster in a temporary folder; stop and remove it afterwards."""
    drop = as_server_user()
    with tempfile.TemporaryDirectory(prefix="salon-pg-") as temporary:
        if drop:
            os.chown(temporary, drop["user"], drop["group"])
        data = f"{temporary}/data"
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]

        def server(program: str, *arguments: str) -> None:
            quiet: dict[str, Any] = {"stdout": subprocess.DEVNULL, "cwd": "/", **drop}
            subprocess.run([folder / program, "-D", data, *arguments], check=True, **quiet)

        options = f"-p {port} -h 127.0.0.1 -k {temporary} -c fsync=off"
        server("initdb", "-U", "postgres", "-A", "trust", "-E", "UTF8", "-N")
        server("pg_ctl", "-l", f"{temporary}/log", "-o", options, "-w", "start")
        try:
            yield f"postgres://postgres@127.0.0.1:{port}/postgres"
        finally:
            server("pg_ctl", "-m", "immediate", "stop")


def run(command: list[str], url: str, how: str) -> int:
    """Run `command` with DATABASE_URL set and return its exit code."""
    print(f"PostgreSQL: {how}", flush=True)
    environment = {"PGOPTIONS": QUICK, **os.environ, "DATABASE_URL": url}
    return subprocess.run(command, check=False, env=environment).returncode


@contextlib.contextmanager
def server() -> Iterator[tuple[str, str] | None]:
    """Give the URL of a server and which one it is; None where there is none."""
    url = os.environ.get("DATABASE_URL", "")
    if url.startswith(("postgres", "pgsql")):
        yield url, "the server of DATABASE_URL"
    elif answers(LOCAL):
        yield LOCAL, "the server on 127.0.0.1:5432"
    elif folder := binaries():
        with throw_away_cluster(folder) as cluster:
            yield cluster, f"a throw-away cluster from {folder}"
    else:
        yield None


def main(command: list[str]) -> int:
    """Find a server, run `command`, return its exit code."""
    with server() as found:
        if found:
            return run(command, *found)
    print(f"{BANNER}\nNo PostgreSQL: the PostgreSQL tests DID NOT RUN.\n{BANNER}", flush=True)
    return 1 if os.environ.get("REQUIRE_POSTGRES") == "1" else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
