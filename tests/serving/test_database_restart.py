"""PostgreSQL stops and starts again under load: pages wait for it, writes are never lost."""

import subprocess
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import psycopg
import pytest
from django.db import connection

from salon import outages
from salon.tools import with_postgres
from tests.serving.conftest import PASSWORD, People
from tests.serving.installation import SITE, Installation
from tests.serving.standby import copied_to
from tests.serving.visitor import Visitor

pytestmark = [
    pytest.mark.slow,
    pytest.mark.postgres,
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(connection.vendor == "sqlite", reason="restarts a PostgreSQL"),
    pytest.mark.skipif(with_postgres.binaries() is None, reason="no server to start"),
]
RESTARTS = 3


class Cluster:
    """A server of the test's own, that it may stop."""

    def __init__(self, url: str) -> None:
        self.port = urlsplit(url).port
        with psycopg.connect(url) as open_one:
            found = open_one.execute("SHOW data_directory").fetchone()
        assert found
        self.data = str(found[0])

    def restart(self) -> None:
        """Stop it as `systemctl restart` does, cutting every connection; start it again."""
        folder, drop = with_postgres.binaries(), with_postgres.as_server_user()
        assert folder
        quiet: dict[str, Any] = {"stdout": subprocess.DEVNULL, "cwd": "/", **drop}
        options = f"-p {self.port} -h 127.0.0.1 -k {Path(self.data).parent} -c fsync=off"
        subprocess.run(
            [folder / "pg_ctl", "-D", self.data, "-m", "fast", "-w", "restart",
             "-l", f"{self.data}/../log", "-o", options],
            check=True, **quiet,
        )  # fmt: skip


@pytest.fixture
def cluster() -> Iterator[str]:
    folder = with_postgres.binaries()
    assert folder
    with with_postgres.throw_away_cluster(folder) as url:
        yield url


def test_a_restart_of_the_database_costs_no_page_and_no_write(
    installation: Installation, people: People, cluster: str
) -> None:
    installation.environment["DATABASE_URL"] = copied_to(cluster, installation.database)
    server, web = Cluster(cluster), installation.web()
    desk = Visitor(web.port, SITE)
    desk.sign_in("imke", PASSWORD)
    form = desk.form("/clients/new/")
    read: list[int] = []
    written: list[tuple[str, int]] = []
    ended = threading.Event()

    def read_on() -> None:
        mine = Visitor(web.port, SITE, cookies=dict(desk.cookies))
        while not ended.is_set():
            read.append(mine.get("/clients/").status)

    def write_on() -> None:
        mine = Visitor(web.port, SITE, cookies=dict(desk.cookies))
        while not ended.is_set():
            body = {"name": f"Writer {len(written)}", "contact_by": "email"}
            answer = mine.post(
                "/clients/new/", {**form, **body, "is_someone_else": "on", "once": ""}
            )
            written.append((body["name"], answer.status))

    longest = 0.0
    people_at_work = [threading.Thread(target=work) for work in (read_on, read_on, write_on)]
    for one in people_at_work:
        one.start()
    try:
        for _n in range(RESTARTS):
            pages, writes = len(read) + 4, len(written) + 2
            web.wait_until(lambda: len(read) >= pages and len(written) >= writes)  # noqa: B023
            began = time.monotonic()
            server.restart()
            longest = max(longest, time.monotonic() - began)
        pages, writes = len(read) + 4, len(written) + 2
        web.wait_until(lambda: len(read) >= pages and len(written) >= writes)
    finally:
        ended.set()
        for one in people_at_work:
            one.join()
    web.stop()

    # A machine so busy that a restart takes longer than a page waits is told so, in words.
    is_soon = longest < outages.PATIENCE / 2
    assert set(read) <= ({200} if is_soon else {200, 503}), (longest, read)
    assert {status for _name, status in written} <= {302, 503}, written
    with psycopg.connect(cluster) as after:
        rows = after.execute("SELECT name FROM clients_client WHERE name LIKE 'Writer %'")
        there = {name for (name,) in rows}
    assert {name for name, status in written if status == 302} <= there
    kept = sum(status == 302 for _name, status in written)
    print(f"{RESTARTS} restarts, {len(read)} pages, {kept} of {len(written)} writes kept")
