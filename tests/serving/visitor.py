"""A browser without pictures: cookies, forms, redirects; over TLS or, to a service, plain."""

import http.client
import re
import socket
import ssl
from dataclasses import dataclass, field
from http.cookies import SimpleCookie
from urllib.parse import urlencode
from uuid import uuid4

TOKEN = re.compile(r'name="csrfmiddlewaretoken" value="(\w+)"')
ONCE = re.compile(r'name="once" value="([\w-]+)"')


@dataclass(frozen=True)
class Answer:
    """What came back."""

    status: int
    headers: http.client.HTTPMessage
    body: bytes

    @property
    def text(self) -> str:
        return self.body.decode()

    @property
    def location(self) -> str:
        return self.headers.get("Location") or ""


@dataclass
class Visitor:
    """Somebody who asks a service at a port of this machine by the salon's name."""

    port: int
    host: str
    tls: ssl.SSLContext | None = None
    cookies: dict[str, str] = field(default_factory=dict)
    headers: dict[str, str] = field(default_factory=dict)

    def get(self, path: str, **headers: str) -> Answer:
        return self.ask("GET", path, None, headers)

    def post(self, path: str, body: dict[str, str], **headers: str) -> Answer:
        """Send a form whose token was read from a page."""
        kind = {"Content-Type": "application/x-www-form-urlencoded"}
        return self.ask("POST", path, urlencode(body).encode(), {**kind, **headers})

    def upload(self, path: str, body: dict[str, str], file: bytes, name: str) -> Answer:
        """Send a form with a picture."""
        edge = uuid4().hex
        parts = [
            f'--{edge}\r\nContent-Disposition: form-data; name="{key}"\r\n\r\n{value}\r\n'
            for key, value in body.items()
        ]
        head = (
            f'--{edge}\r\nContent-Disposition: form-data; name="{name}"; filename="a.jpg"\r\n'
            "Content-Type: image/jpeg\r\n\r\n"
        )
        content = (
            "".join(parts).encode() + head.encode() + file + f"\r\n--{edge}--\r\n".encode()
        )
        kind = {"Content-Type": f"multipart/form-data; boundary={edge}"}
        return self.ask("POST", path, content, kind)

    def ask(
        self, method: str, path: str, body: bytes | None, headers: dict[str, str]
    ) -> Answer:
        """Ask on a connection of its own; OSError if it breaks."""
        connection = self._connection()
        sent = {"Host": self._name(), **self.headers, **headers}
        if method == "POST":
            sent["Origin"] = f"https://{self._name()}"
        if self.cookies:
            sent["Cookie"] = "; ".join(f"{key}={value}" for key, value in self.cookies.items())
        if not self.tls:
            sent.setdefault("X-Forwarded-Proto", "https")
        try:
            connection.request(method, path, body, sent)
            answer = connection.getresponse()
            for line in answer.headers.get_all("Set-Cookie") or []:
                for key, morsel in SimpleCookie(line).items():
                    self.cookies[key] = morsel.value
            return Answer(answer.status, answer.headers, answer.read())
        except http.client.HTTPException as error:
            raise ConnectionError(str(error)) from error
        finally:
            connection.close()

    def form(self, path: str) -> dict[str, str]:
        """Return token and key of the form on a page."""
        page = self.get(path)
        assert page.status == 200, (page.status, page.location, page.text[:500])
        token, once = TOKEN.search(page.text), ONCE.search(page.text)
        assert token
        found = {"csrfmiddlewaretoken": token.group(1)}
        return found | ({"once": once.group(1)} if once else {})

    def sign_in(self, username: str, password: str) -> Answer:
        form = self.form("/sign-in/")
        answer = self.post("/sign-in/", {**form, "username": username, "password": password})
        assert answer.status == 302, answer.text[:2000]
        return answer

    def _name(self) -> str:
        return f"{self.host}:{self.port}" if self.tls else self.host

    def _connection(self) -> http.client.HTTPConnection:
        raw = socket.create_connection(("127.0.0.1", self.port))
        connection = http.client.HTTPConnection(self.host, self.port)
        connection.sock = (
            self.tls.wrap_socket(raw, server_hostname=self.host) if self.tls else raw
        )
        return connection
