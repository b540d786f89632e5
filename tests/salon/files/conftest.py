from pathlib import Path

import pytest
from django.test import Client as Browser
from pytest_django import Settings

from salon.files import progress
from salon.models import Staff
from tests.factories.clients import ClientFactory
from tests.salon.files.asking import NAMES, change_kind
from tests.typed import SignIn
from tests.workers import QUEUE


@pytest.fixture(autouse=True)
def own_folder(settings: Settings, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture(autouse=True)
def nothing_is_short(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the worker make every client list, and say how far it is at each row."""
    monkeypatch.setattr(progress, "EVERY", 0)
    change_kind(monkeypatch, most_at_once=0)


@pytest.fixture
def boss(owner: Staff, client_for: SignIn) -> Browser:
    """An owner of a salon with some clients."""
    for name in NAMES:
        ClientFactory(salon=owner.salon, name=name)
    return client_for(owner)


@pytest.fixture
def queued(settings: Settings) -> None:
    """Leave tasks in the queue."""
    settings.TASKS = QUEUE
