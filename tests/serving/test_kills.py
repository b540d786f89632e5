"""Services are killed while people write: whatever was acknowledged is there, once."""

import os
import random
import signal
import sqlite3
import threading
import time
from contextlib import closing
from dataclasses import dataclass, field

import pytest

from clients.models import Client
from salon.models import AuditEvent, Submission
from tests.project.upgrade.databases import as_default
from tests.serving.conftest import PASSWORD, People
from tests.serving.installation import SITE, Installation, Service
from tests.serving.visitor import Visitor

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]
KILLS = int(os.environ.get("KILLS", "10"))  # `make kills` asks for 200
WRITERS = 3


@dataclass
class Outside:
    """A list that no database holds: what was sent, and what was acknowledged."""

    sent: list[str] = field(default_factory=list)
    acknowledged: list[str] = field(default_factory=list)
    broken: int = 0
    ended: threading.Event = field(default_factory=threading.Event)

    def write_on(self, number: int, visitor: Visitor, keys: "Keys") -> None:
        """Add clients; after a broken answer send the same form until there is an answer."""
        turn = 0
        while not self.ended.is_set():
            name, turn = f"Writer {number} {turn}", turn + 1
            body = {
                **keys.form, "once": keys.fresh(), "name": name,
                "contact_by": "email", "is_someone_else": "on",
            }  # fmt: skip
            self.sent.append(name)
            while True:
                try:
                    answer = visitor.post("/clients/new/", body)
                except OSError:
                    self.broken += 1
                    time.sleep(0.01)  # between two tries; nothing waits for it to pass
                    continue
                if answer.status == 302:
                    self.acknowledged.append(name)
                    break
                assert answer.status == 503, (answer.status, answer.text)


class Keys:
    """The token of the visitor's forms, and a new key for each."""

    def __init__(self, form: dict[str, str]) -> None:
        self.form = {"csrfmiddlewaretoken": form["csrfmiddlewaretoken"]}

    def fresh(self) -> str:
        from uuid import uuid4

        return str(uuid4())


def test_what_was_acknowledged_outlives_every_kill(
    installation: Installation, people: People
) -> None:
    web = installation.web("--preload", "--workers", "2", "--max-requests", "0")
    outside, dice = Outside(), random.Random(KILLS)  # noqa: S311
    desk = Visitor(web.port, SITE)
    desk.sign_in("imke", PASSWORD)
    keys = Keys(desk.form("/clients/new/"))
    writers = [
        threading.Thread(
            target=outside.write_on,
            args=(number, Visitor(web.port, SITE, cookies=dict(desk.cookies)), keys),
        )
        for number in range(WRITERS)
    ]
    for writer in writers:
        writer.start()
    try:
        for _n in range(KILLS):
            _let_write(web, outside, dice.randint(1, 6))
            time.sleep(dice.random() / 20)  # somewhere in the middle of a write
            _kill_one(web, dice)
        _let_write(web, outside, WRITERS)
    finally:
        outside.ended.set()
        for writer in writers:
            writer.join()
    web.stop()

    assert len(outside.acknowledged) > KILLS
    with as_default(installation.database) as database:
        there = list(
            Client.objects.filter(name__startswith="Writer").values_list("name", flat=True)
        )
        assert sorted(there) == sorted(outside.acknowledged) == sorted(outside.sent)
        # No half transaction: each client with its event and the key of its form.
        events = AuditEvent.objects.filter(kind="client registered").count()
        assert events == len(there) == Submission.objects.filter(path="/clients/new/").count()
        if database.vendor == "sqlite":
            with closing(sqlite3.connect(installation.database)) as file:
                assert file.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
                assert file.execute("PRAGMA foreign_key_check").fetchall() == []
    print(f"{KILLS} kills, {outside.broken} broken answers, {len(there)} clients")


def _let_write(web: Service, outside: Outside, more: int) -> None:
    goal = len(outside.acknowledged) + more
    web.wait_until(lambda: len(outside.acknowledged) >= goal)


def _kill_one(web: Service, dice: random.Random) -> None:
    """Kill a worker; its master starts another."""
    web.wait_until(lambda: bool(web.workers()))
    os.kill(dice.choice(web.workers()), signal.SIGKILL)
