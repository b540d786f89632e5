"""Two web services behind the proxy, one PostgreSQL: whoever answers, the salon is the same."""

import os
import re
import shutil
import signal
import socket
import ssl
import threading
from contextlib import ExitStack
from dataclasses import dataclass

import pytest
from django.db import connection

from clients.models import Client, Photo
from tests.factories.photos import from_a_phone
from tests.project.upgrade.databases import as_default
from tests.serving.conftest import PASSWORD, People
from tests.serving.installation import SITE, Installation, Service, free_port
from tests.serving.test_caddyfile import CADDYFILE
from tests.serving.visitor import Visitor

pytestmark = [
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
    pytest.mark.postgres,
    pytest.mark.skipif(connection.vendor == "sqlite", reason="several services, one server"),
    pytest.mark.skipif(shutil.which("caddy") is None, reason="caddy is not installed"),
]
SILENT = 40
ERROR = re.compile(r"<[^>]*error[^>]*>[^<]*")
LIE = "203.0.113.9"


@dataclass
class Door:
    """The proxy, what trusts its authority, and the services behind it."""

    caddy: Service
    trust: ssl.SSLContext
    behind: list[Service]

    def visitor(self) -> Visitor:
        return Visitor(self.caddy.port, SITE, self.trust)


@pytest.fixture
def door(installation: Installation, people: People) -> Door:
    """Caddy with its own authority before two services."""
    first, second = installation.web(), installation.web()
    with free_port() as https, free_port() as http:
        ports = {"HTTPS_PORT": str(https), "HTTP_PORT": str(http)}
    data = installation.folder / "caddy"
    caddy = installation.start(
        "caddy", "run", "--adapter", "caddyfile", "--config", str(CADDYFILE),
        SITE=SITE, UPSTREAMS=f"127.0.0.1:{first.port} 127.0.0.1:{second.port}",
        XDG_DATA_HOME=str(data), XDG_CONFIG_HOME=str(data), HOME=str(data), **ports,
    )  # fmt: skip
    caddy.port = https
    root = data / "caddy" / "pki" / "authorities" / "local" / "root.crt"
    caddy.wait_until(root.exists)
    found = Door(caddy, ssl.create_default_context(cafile=str(root)), [first, second])
    caddy.wait_until(lambda: _answers(found))
    return found


def _answers(door: Door) -> bool:
    try:
        return door.visitor().get("/healthz").status == 200
    except OSError:
        return False


def test_two_services_behind_the_proxy_are_one_salon(
    door: Door, installation: Installation, people: People, subtests: pytest.Subtests
) -> None:
    for part in (
        _a_sitting_goes_on_whichever_service_answers,
        _a_photo_taken_at_one_is_seen_at_the_other,
        _the_clients_address_is_the_proxys_word_and_not_the_clients,
        _pages_come_compressed_over_tls_and_plain_http_is_sent_there,
        _forty_silent_sockets_at_the_door_hold_nobody_up,
        _one_service_killed_and_both_restarted_cost_nobody_a_page,
    ):
        with subtests.test(part.__name__.strip("_").replace("_", " ")):
            part(door, installation, people)


def _a_sitting_goes_on_whichever_service_answers(
    door: Door, installation: Installation, people: People
) -> None:
    desk = door.visitor()
    desk.sign_in("imke", PASSWORD)
    # By turns at each service itself, with the cookies of the proxy's page.
    turns = [Visitor(one.port, desk._name(), cookies=desk.cookies) for one in door.behind]

    for number in range(4):
        page, sender = turns[number % 2], turns[(number + 1) % 2]
        form = page.form("/clients/new/")
        client = {
            "name": f"Robin Field{number}",
            "contact_by": "email",
            "is_someone_else": "on",
        }
        answer = sender.post("/clients/new/", {**form, **client})
        assert answer.status == 302, ERROR.findall(answer.text)
        assert f"Field{number}" in page.get(answer.location).text
        # The same form once more, at the other service: the same answer, no second client.
        again = page.post("/clients/new/", {**form, **client})
        assert again.location == answer.location
    assert desk.get("/clients/").status == 200

    with as_default(installation.database):
        assert Client.objects.filter(name__startswith="Robin Field").count() == 4


def _a_photo_taken_at_one_is_seen_at_the_other(
    door: Door, installation: Installation, people: People
) -> None:
    stylist = door.visitor()
    stylist.sign_in("tomasz", PASSWORD)
    one, other = (
        Visitor(s.port, stylist._name(), cookies=stylist.cookies) for s in door.behind
    )
    shelf = f"/appointments/{people.seated.pk}/photos/before/"
    token = {"csrfmiddlewaretoken": stylist.cookies["__Host-salon-csrf"]}

    answer = one.upload(f"{shelf}take/", token, from_a_phone(), "file")

    assert answer.status in {204, 302}, answer.text
    with as_default(installation.database):
        key = Photo.objects.get().key
    seen = other.get(f"/photos/{key}/")
    assert seen.body.startswith(b"\xff\xd8\xff")
    assert stylist.get(f"/photos/{key}/").body == seen.body


def _the_clients_address_is_the_proxys_word_and_not_the_clients(
    door: Door, installation: Installation, people: People
) -> None:
    visitor = door.visitor()
    visitor.headers["X-Forwarded-For"] = LIE
    form = visitor.form("/sign-in/")
    visitor.post("/sign-in/", {**form, "username": "imke", "password": "wrong"})

    with as_default(installation.database):
        from axes.models import AccessAttempt

        assert [one.ip_address for one in AccessAttempt.objects.all()] == ["127.0.0.1"]


def _pages_come_compressed_over_tls_and_plain_http_is_sent_there(
    door: Door, installation: Installation, people: People
) -> None:
    packed = door.visitor().get("/sign-in/", **{"Accept-Encoding": "gzip"})
    plain = door.visitor().get("/sign-in/")

    assert packed.headers["Content-Encoding"] == "gzip"
    assert len(packed.body) < len(plain.body)
    # Buffered: the whole length is known before the first byte goes out.
    assert plain.headers["Content-Length"] == str(len(plain.body))
    assert "max-age=31536000" in plain.headers["Strict-Transport-Security"]


def _forty_silent_sockets_at_the_door_hold_nobody_up(
    door: Door, installation: Installation, people: People
) -> None:
    with ExitStack() as opened:
        for _n in range(SILENT):
            raw = opened.enter_context(socket.create_connection(("127.0.0.1", door.caddy.port)))
            tls = opened.enter_context(door.trust.wrap_socket(raw, server_hostname=SITE))
            # Half a form: the proxy waits for the rest, and no service hears of it.
            tls.sendall(
                b"POST /sign-in/ HTTP/1.1\r\nHost: salon.local\r\nContent-Length: 9\r\n\r\na"
            )
        assert door.visitor().get("/sign-in/").status == 200
        for service in door.behind:
            assert Visitor(service.port, SITE).get("/healthz").status == 200


def _one_service_killed_and_both_restarted_cost_nobody_a_page(
    door: Door, installation: Installation, people: People
) -> None:
    desk = door.visitor()
    desk.sign_in("imke", PASSWORD)
    seen: list[int] = []
    ended = threading.Event()

    def read_on() -> None:
        mine = Visitor(desk.port, SITE, desk.tls, dict(desk.cookies))
        while not ended.is_set():
            seen.append(mine.get("/clients/").status)

    readers = [threading.Thread(target=read_on) for _n in range(3)]
    for reader in readers:
        reader.start()
    first, second = door.behind
    door.caddy.wait_until(lambda: len(seen) > 5)
    for number in first.workers():  # the worker in the middle of a page, then its master
        os.kill(number, signal.SIGKILL)
    first.process.kill()
    first.process.wait()
    _go_on(door, seen)
    first = installation.web(port=first.port)
    _go_on(door, seen)
    second.stop()  # a release: one after the other, gracefully
    _go_on(door, seen)
    second = installation.web(port=second.port)
    _go_on(door, seen)
    ended.set()
    for reader in readers:
        reader.join()

    assert set(seen) == {200}, seen
    assert len(seen) > 25


def _go_on(door: Door, seen: list[int]) -> None:
    """Wait until six more pages were read."""
    goal = len(seen) + 6
    door.caddy.wait_until(lambda: len(seen) >= goal)
