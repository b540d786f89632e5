"""The product's own backend and queue, and a mail server that it trusts."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from pytest_django import Settings

from tests.salon.mailing.server import PASSWORD, USER, MailServer
from tests.workers import QUEUE


@pytest.fixture
def by_smtp(settings: Settings) -> Settings:
    """The product's own backend and queue; a server's silence is short."""
    settings.EMAIL_BACKEND = "salon.mailing.smtp.Backend"
    settings.EMAIL_HOST, settings.EMAIL_USE_TLS = "localhost", True
    settings.EMAIL_HOST_USER, settings.EMAIL_HOST_PASSWORD = USER, PASSWORD
    settings.EMAIL_TIMEOUT = 1
    settings.DEFAULT_FROM_EMAIL = "Mail <desk@salon.example>"
    settings.TASKS = QUEUE
    return settings


@pytest.fixture
def server(
    by_smtp: Settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[MailServer]:
    """A server that the machine trusts."""
    with MailServer(tmp_path) as found:
        monkeypatch.setenv("SSL_CERT_FILE", str(found.certificate))
        by_smtp.EMAIL_PORT = found.port
        yield found
