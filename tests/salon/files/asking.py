"""A client list that the worker makes: asked for, fetched, looked for where it lies."""

from dataclasses import replace

import pytest
from django.test import Client as Browser
from django.urls import reverse

from salon import media
from salon.files import kinds, store
from salon.models import PreparedFile

NAMES = [f"Guest {number:02d}" for number in range(12)]
PAGE = "/salon/files/"


def change_kind(monkeypatch: pytest.MonkeyPatch, **fields: object) -> None:
    """Make client lists in another way."""
    changed = replace(kinds.of("clients_csv"), **fields)  # type: ignore[arg-type]
    monkeypatch.setitem(kinds._kinds, "clients_csv", changed)


def ask(boss: Browser) -> PreparedFile:
    """Ask for the client list."""
    answer = boss.post(reverse("clients:export_csv"))
    assert answer.status_code == 302
    assert answer.headers["Location"] == PAGE
    return PreparedFile.objects.latest("pk")


def fetched(boss: Browser, file: PreparedFile) -> bytes:
    """Return what a file holds, as its reader gets it."""
    answer = boss.post(f"{PAGE}{file.pk}/")
    assert answer.headers["Content-Disposition"] == 'attachment; filename="clients.csv"'
    content = answer.getvalue()
    assert answer.headers["Content-Length"] == str(len(content))
    return content


def names(content: bytes) -> list[str]:
    """Return whom a client list names."""
    return [line.split(",")[0] for line in content.decode().splitlines()[1:]]


def stored() -> list[str]:
    """Return the names of every stored file."""
    return [file.name for file in media.media().files(store.FOLDER)]
