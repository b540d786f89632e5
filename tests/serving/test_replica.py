"""Pages that look back are read from a real streaming replica, and never more than those.

What functions say of a replica: PostgreSQL 15, chapter 9.27.4, "Recovery Control Functions".
"""

import datetime as dt
import json
import re
import subprocess
import sys
from collections.abc import Iterator

import pytest
from django.contrib.auth.hashers import Argon2PasswordHasher
from django.db import connection

from salon.models import Role
from salon.tools import with_postgres
from tests.factories.salon import StaffFactory
from tests.project.upgrade.databases import as_default
from tests.serving.conftest import PASSWORD, People
from tests.serving.installation import ROOT, SITE, Installation, Service
from tests.serving.standby import Standby, copied_to, following, programs
from tests.serving.visitor import Visitor

pytestmark = [
    pytest.mark.slow,
    pytest.mark.postgres,
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(connection.vendor == "sqlite", reason="SQLite has no replica"),
]
UNTIL = re.compile(r'id="figures_at">\s*As recorded until (\d\d:\d\d:\d\d)')
NOT_READ = "The replica is not read"
CHANGES, FIGURES = "/salon/record-of-changes/", "/histories/"


@pytest.fixture
def primary() -> Iterator[str]:
    with with_postgres.throw_away_cluster(programs()) as url:
        yield url


@pytest.fixture
def standby(installation: Installation, people: People, primary: str) -> Iterator[Standby]:
    with as_default(installation.database):
        password = Argon2PasswordHasher().encode(PASSWORD, "a salt of a test")
        StaffFactory(salon=people.salon, username="orla", role=Role.OWNER, password=password)
    copied_to(primary, installation.database)
    with following(primary) as found:
        installation.environment |= {
            "ANOTHER_URL": installation.environment["DATABASE_URL"],
            "DATABASE_URL": primary, "DATABASE_REPLICA_URL": found.url,
        }  # fmt: skip
        yield found


def _signed_in(web: Service, name: str) -> Visitor:
    visitor = Visitor(web.port, SITE)
    visitor.sign_in(name, PASSWORD)
    return visitor


def _register(desk: Visitor, name: str) -> None:
    form = desk.form("/clients/new/")
    answer = desk.post("/clients/new/", {**form, "name": name, "contact_by": "email"})
    assert answer.status == 302, answer.text[:2000]


def _until(visitor: Visitor, path: str) -> str:
    """Return until when a page says that it is complete; "" where it was read as always."""
    page = visitor.get(path)
    assert page.status == 200, page.text[:2000]
    found = UNTIL.search(page.text)
    return found.group(1) if found else ""


def _wait_for_replica(web: Service, visitor: Visitor) -> None:
    web.wait_until(lambda: _until(visitor, CHANGES) != "")


def test_only_pages_that_look_back_are_read_there_and_say_until_when(
    installation: Installation, people: People, standby: Standby
) -> None:
    web = installation.web()
    desk, owner = _signed_in(web, "imke"), _signed_in(web, "orla")

    for path in ("/clients/", f"/clients/{people.seated.client_id}/"):
        assert desk.get(path).status == owner.get(path).status == 200
    assert 'FROM "' not in standby.said()

    _wait_for_replica(web, owner)
    web.wait_until(lambda: _until(owner, FIGURES) != "")
    assert 'FROM "salon_auditevent"' in standby.said()
    assert 'FROM "consult_visit"' in standby.said()
    for kept_away in ("salon_staffsession", "salon_staff", "clients_clientkey"):
        assert f'FROM "{kept_away}"' not in standby.said()

    _shows_what_its_reader_wrote(web, standby, people, desk, owner)
    _says_now_where_nothing_is_written(web, standby, people, owner)


def _shows_what_its_reader_wrote(
    web: Service, standby: Standby, people: People, desk: Visitor, owner: Visitor
) -> None:
    name = people.desk.display_name
    _wait_for_replica(web, owner)
    standby.hold()
    before = owner.get(CHANGES).text.count(name)
    _register(desk, "Wilhelmina Otter")
    assert owner.get(CHANGES).text.count(name) == before
    assert _until(owner, CHANGES)

    form = owner.form("/account/")
    owner.post("/language/", {**form, "language": "en-gb"})
    assert _until(owner, CHANGES) == ""  # the replica lacks what this session wrote
    assert owner.get(CHANGES).text.count(name) > before

    standby.go_on()
    _wait_for_replica(web, owner)
    assert owner.get(CHANGES).text.count(name) > before


def _says_now_where_nothing_is_written(
    web: Service, standby: Standby, people: People, owner: Visitor
) -> None:
    """The last transaction may be long ago: nothing is missing all the same."""
    last = standby.ask("SELECT pg_last_xact_replay_timestamp()")

    def is_of_now() -> bool:
        began = dt.datetime.now(people.salon.zone).replace(microsecond=0)
        return _until(owner, CHANGES) >= f"{began:%H:%M:%S}"

    web.wait_until(lambda: dt.datetime.now(dt.UTC) > last + dt.timedelta(seconds=2))
    web.wait_until(is_of_now)


def test_a_file_holds_all_until_now_and_a_replica_that_is_away_is_left_alone(
    installation: Installation, people: People, standby: Standby
) -> None:
    web = installation.web(REPLICA_MOST_MINUTES="0")
    desk, owner = _signed_in(web, "imke"), _signed_in(web, "orla")
    _register(desk, "Ottilie Marsh")
    form = owner.form("/clients/imports/")

    _wait_for_replica(web, owner)  # not behind at all
    standby.hold()
    _register(desk, "Petra Vole")
    web.wait_until(lambda: _until(owner, CHANGES) == "")
    web.wait_until(lambda: "0 minutes behind" in web.said())
    assert "Petra Vole" in owner.post("/clients/export.csv", form).text
    assert 'FROM "clients_client"' not in standby.said()
    standby.go_on()

    web = installation.web()
    owner = _signed_in(web, "orla")
    form = owner.form("/clients/imports/")
    sent = owner.post("/clients/export.csv", form).text
    assert "Ottilie Marsh" in sent
    assert "Petra Vole" in sent
    assert 'FROM "clients_client"' in standby.said()

    standby.stop()
    for _n in range(3):
        assert _until(owner, FIGURES) == ""
    assert web.said().count(NOT_READ) == 1
    assert "does not answer" in web.said()
    assert "Petra Vole" in owner.post("/clients/export.csv", form).text


def test_the_doctor_looks_at_the_replica(
    installation: Installation, people: People, standby: Standby, primary: str
) -> None:
    assert _doctor(installation)["weight"] == "fine"

    no_replica = _doctor(installation, DATABASE_REPLICA_URL=primary)
    assert no_replica["weight"] == "odd"
    assert "is no replica" in no_replica["sentence"]

    wrong = _doctor(installation, DATABASE_URL=installation.environment["ANOTHER_URL"])
    assert wrong["weight"] == "wrong"
    assert "another database" in wrong["sentence"]

    standby.stop()
    assert "does not answer" in _doctor(installation)["sentence"]


def _doctor(installation: Installation, **more: str) -> dict[str, str]:
    done = subprocess.run(
        [sys.executable, "manage.py", "doctor", "--json"],
        cwd=ROOT, env={**installation.environment, **more}, capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    found: list[dict[str, str]] = json.loads(done.stdout)
    (one,) = [finding for finding in found if finding["subject"] == "Replica"]
    return one
