"""A backup is taken while the salon works, put back elsewhere, compared, and moved."""

import io
import os
import sqlite3
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import psycopg
import pytest
from django.conf import settings as django_settings
from django.core.management import CommandError, call_command
from django.db import connection
from psycopg.conninfo import conninfo_to_dict
from pytest_django import Settings

from salon.backups import moving, rows, sqlite
from salon.encrypted_file import Damaged
from salon.models import Salon
from salon.tools import with_postgres
from tests.factories.consult import Story

SQLITE = connection.vendor == "sqlite"
NEXT = "SELECT nextval(pg_get_serial_sequence('salon_salon', 'id'))"


@pytest.fixture
def kept(story: Story, tmp_path: Path, settings: Settings) -> Path:
    """A backup of a salon with a signed visit and a photo."""
    settings.MEDIA_ROOT = tmp_path / "media"
    (tmp_path / "media" / "photos").mkdir(parents=True)
    (tmp_path / "media" / "photos" / "1.jpg").write_bytes(b"a photo")
    story.to_end()
    file = tmp_path / "copy"
    call_command("backup", file, stdout=io.StringIO())
    return file


@pytest.fixture
def empty_database() -> Iterator[str]:
    """The URL of an empty PostgreSQL database."""
    with with_postgres.server() as found:
        if found is None:
            pytest.skip("no PostgreSQL")
        name = f"moved_{os.getpid()}"
        with psycopg.connect(found[0], autocommit=True) as server:
            server.execute(f"CREATE DATABASE {name}")
            try:
                known = conninfo_to_dict(found[0])
                yield f"postgres://{known['user']}@{known['host']}:{known['port']}/{name}"
            finally:
                server.execute(f"DROP DATABASE {name} WITH (FORCE)")


def manage(*command: str, database: str, media: Path) -> subprocess.CompletedProcess[str]:
    """Run a command of the product in a process of its own, as whoever runs the server."""
    return subprocess.run(
        [sys.executable, "manage.py", *command],
        cwd=django_settings.BASE_DIR,
        env={
            **os.environ,
            "DATABASE_URL": database,
            "MEDIA_ROOT": str(media),
            "DJANGO_SETTINGS_MODULE": "salon.settings",
        },
        capture_output=True,
        text=True,
        check=False,
    )


def put_back(file: Path, database: str, media: Path) -> None:
    for command in (["restore", str(file)], ["migrate", "--verbosity", "0"]):
        done = manage(*command, database=database, media=media)
        assert done.returncode == 0, done.stderr


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_a_backup_is_put_back_drilled_and_moved(
    kept: Path, tmp_path: Path, empty_database: str
) -> None:
    counts, media = rows.counts(), tmp_path / "there"
    database = f"sqlite:///{tmp_path / 'there.sqlite3'}" if SQLITE else empty_database

    put_back(kept, database, media)
    again = manage("restore", str(kept), database=database, media=media)
    drilled = manage("drill", database=database, media=media)

    assert (media / "photos" / "1.jpg").read_bytes() == b"a photo"
    assert again.returncode == 1
    assert "Move it away first" in again.stderr or "not empty" in again.stderr
    assert drilled.returncode == 0, drilled.stderr
    assert f"compared: {sum(counts.values())} rows, 1 photos" in drilled.stdout
    assert "1 sign-offs, all links hold" in drilled.stdout
    if not SQLITE:
        with _reader(database) as reader:
            refused = manage("drill", database=reader, media=media)
        assert "as the account that owns the database" in refused.stderr
        return

    moved = manage("move_database", empty_database, database=database, media=media)
    twice = manage("move_database", empty_database, database=database, media=media)
    drilled = manage("drill", database=empty_database, media=media)

    assert moved.returncode == 0, moved.stderr
    assert "1 sign-offs, all links hold" in moved.stdout
    assert "not empty" in twice.stderr
    assert drilled.returncode == 0, drilled.stderr
    with psycopg.connect(empty_database) as there:
        with there.cursor() as cursor:
            assert rows.counted(cursor.execute, cursor.fetchone) == counts
        (number,) = there.execute(NEXT).fetchone() or (None,)
    assert number == max(Salon.objects.values_list("pk", flat=True)) + 1


@contextmanager
def _reader(database: str) -> Iterator[str]:
    """Give the address for an account that reads everything and may make no database."""
    name = f"reader_{os.getpid()}"  # roles are of the whole server
    url = urlsplit(database)
    with psycopg.connect(database, autocommit=True) as server:
        server.execute(f"CREATE ROLE {name} LOGIN PASSWORD 'secret' IN ROLE pg_read_all_data")
        try:
            host = url.netloc.rpartition("@")[2]
            yield url._replace(netloc=f"{name}:secret@{host}").geturl()
        finally:
            server.execute(f"DROP ROLE {name}")


@pytest.mark.skipif(not SQLITE, reason="an embedded database")
def test_writers_get_their_turn_while_a_copy_is_taken(tmp_path: Path) -> None:
    file = tmp_path / "busy.sqlite3"
    with closing(sqlite3.connect(file)) as first:
        first.execute("CREATE TABLE t (x BLOB)")
        first.executemany("INSERT INTO t VALUES (?)", [(b"x" * 4000,)] * 12_000)
        first.commit()
    written, is_done = [], threading.Event()

    def write() -> None:
        with closing(sqlite3.connect(file, timeout=30)) as writer:
            while not is_done.is_set():
                writer.execute("INSERT INTO t VALUES (x'00')")
                writer.commit()
                written.append(1)

    thread = threading.Thread(target=write)
    with closing(sqlite3.connect(file)) as source, closing(sqlite3.connect(":memory:")) as copy:
        thread.start()
        try:
            sqlite.copy_in_steps(source, copy)
        finally:
            is_done.set()
            thread.join()
        (count,) = copy.execute("SELECT count(*) FROM t").fetchone()
        (verdict,) = copy.execute("PRAGMA integrity_check").fetchone()

    assert verdict == "ok"
    assert written
    assert 12_000 <= count <= 12_000 + len(written)


@pytest.mark.django_db
@pytest.mark.skipif(not SQLITE, reason="an embedded database")
def test_a_table_that_nobody_knows_is_not_left_behind() -> None:
    with connection.cursor() as cursor:
        cursor.execute("CREATE TABLE odd (id integer)")

    with pytest.raises(CommandError, match="not the product's: odd"):
        call_command("move_database", "postgres://nobody@127.0.0.1:1/nothing")


@pytest.mark.django_db
@pytest.mark.skipif(not SQLITE, reason="an embedded database")
def test_the_databases_own_statistics_are_no_strange_table() -> None:
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    assert any(name.startswith("sqlite_") for name in connection.introspection.table_names())

    moving.refuse_unless_movable()


@pytest.mark.django_db(transaction=True)
@pytest.mark.skipif(not SQLITE, reason="an embedded database")
@pytest.mark.parametrize("cut", [40, 5000])
def test_a_damaged_backup_is_not_put_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, cut: int
) -> None:
    file = tmp_path / "copy"
    call_command("backup", file, stdout=io.StringIO())
    file.write_bytes(file.read_bytes()[:-cut])
    monkeypatch.setitem(
        django_settings.DATABASES["default"], "NAME", str(tmp_path / "new.sqlite3")
    )

    with pytest.raises(Damaged, match="changed or cut"):
        sqlite.put_back(file)

    assert not (tmp_path / "new.sqlite3").exists()


@pytest.mark.slow
@pytest.mark.skipif(not SQLITE, reason="an embedded database")
def test_a_large_database_is_not_taken_into_memory(salon_file: Path, tmp_path: Path) -> None:
    small = _most_memory(salon_file, tmp_path / "small")
    with closing(sqlite3.connect(salon_file)) as file:
        file.execute("CREATE TABLE years (x BLOB)")
        file.executemany("INSERT INTO years VALUES (randomblob(1000000))", [()] * 200)
        file.commit()

    large = _most_memory(salon_file, tmp_path / "large")

    assert (tmp_path / "large").stat().st_size > 200_000_000
    assert large < small + 50_000_000
    assert [path.name for path in tmp_path.glob("*.copying*")] == []


@pytest.mark.skipif(not SQLITE, reason="an embedded database")
@pytest.mark.django_db(transaction=True)
def test_two_backups_at_once_have_a_copy_each_and_old_ones_go(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sqlite, "_folder_and_name", lambda: (tmp_path, "salon.sqlite3"))
    killed, foreign = tmp_path / "salon.sqlite3.a.copying", tmp_path / "salon.sqlite3"
    for path in (killed, foreign):
        path.touch()
        os.utime(path, (0, 0))
    connection.ensure_connection()

    with sqlite._plain_copy() as first, sqlite._plain_copy() as second:
        assert first != second
        assert first.stat().st_size == second.stat().st_size > 0
        assert first.stat().st_mode & 0o777 == 0o600
        assert not killed.exists()

    assert list(tmp_path.iterdir()) == [foreign]


def _most_memory(database: Path, file: Path) -> int:
    """Back up in a process of its own; return the most bytes that it held."""
    child = subprocess.Popen(
        [sys.executable, "manage.py", "backup", str(file)],
        cwd=django_settings.BASE_DIR,
        env={
            **os.environ,
            "DATABASE_URL": f"sqlite:///{database}",
            "MEDIA_ROOT": str(file.with_name("media")),
            "DJANGO_SETTINGS_MODULE": "salon.settings",
        },
        stdout=subprocess.DEVNULL,
    )
    _pid, status, used = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    assert child.returncode == 0
    return used.ru_maxrss * 1024
