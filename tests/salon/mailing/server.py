"""A real mail server for one test: aiosmtpd with STARTTLS, under a certificate made here.

It behaves as it is told: takes a mail, refuses it at a step, breaks off, or says nothing.
"""

import asyncio
import datetime as dt
import ipaddress
import socket
import ssl
from pathlib import Path
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, AuthResult, Envelope, Session
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

USER, PASSWORD = "desk@salon.example", "a/b"


class MailServer:
    """Takes mails on a port of this machine; `at` says what it answers at a step."""

    def __init__(self, folder: Path, *, offers_tls: bool = True) -> None:
        self.certificate, key = _certificate(folder)
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(self.certificate, key)
        self.taken: list[Envelope] = []
        self.was_encrypted: list[bool] = []
        self.at: dict[str, str] = {}
        self._controller = Controller(
            self, hostname="127.0.0.1", port=_free_port(),
            tls_context=context if offers_tls else None, require_starttls=offers_tls,
            authenticator=self._authenticate, auth_require_tls=offers_tls,
        )  # fmt: skip

    @property
    def port(self) -> int:
        """The port that it listens on."""
        return self._controller.port

    def __enter__(self) -> "MailServer":
        self._controller.start()
        return self

    def __exit__(self, *error: object) -> None:
        self._controller.stop()

    def _authenticate(self, *args: Any) -> AuthResult:
        login = args[-1]
        is_right = (login.login, login.password) == (USER.encode(), PASSWORD.encode())
        return AuthResult(success=is_right, handled=False)

    async def handle_MAIL(  # noqa: N802 - as aiosmtpd calls it
        self,
        server: SMTP,
        session: Session,
        envelope: Envelope,
        address: str,
        options: list[str],
    ) -> str:
        """Answer MAIL FROM."""
        envelope.mail_from = address
        return self._answer("MAIL", server)

    async def handle_RCPT(  # noqa: N802 - as aiosmtpd calls it
        self,
        server: SMTP,
        session: Session,
        envelope: Envelope,
        address: str,
        options: list[str],
    ) -> str:
        """Answer RCPT TO."""
        answer = self._answer("RCPT", server)
        if answer.startswith("250"):
            envelope.rcpt_tos.append(address)
        return answer

    async def handle_DATA(  # noqa: N802 - as aiosmtpd calls it
        self, server: SMTP, session: Session, envelope: Envelope
    ) -> str:
        """Answer the end of a mail."""
        if self.at.get("DATA") == "silence":
            self.taken.append(envelope)
            await asyncio.Event().wait()
        answer = self._answer("DATA", server)
        if answer.startswith("250"):
            self.taken.append(envelope)
            self.was_encrypted.append(session.ssl is not None)
        return answer

    def _answer(self, step: str, server: SMTP) -> str:
        answer = self.at.get(step, "250 OK")
        if answer == "drop":
            assert isinstance(server.transport, asyncio.WriteTransport)
            server.transport.abort()
        return answer


def _free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as found:
        return int(found.getsockname()[1])


def closed_port() -> int:
    """Return a port that nobody listens on."""
    return _free_port()


def _certificate(folder: Path) -> tuple[Path, Path]:
    """Write a certificate for localhost, signed by itself, and its key."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "localhost")])
    now = dt.datetime.now(dt.UTC)
    names = [x509.DNSName("localhost"), x509.IPAddress(ipaddress.ip_address("127.0.0.1"))]
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - dt.timedelta(hours=1))
        .not_valid_after(now + dt.timedelta(hours=1))
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )
    files = folder / "mail.crt", folder / "mail.key"
    files[0].write_bytes(made.public_bytes(serialization.Encoding.PEM))
    files[1].write_bytes(
        key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
    )
    return files
