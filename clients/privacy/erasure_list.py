"""Whose data were erased, noted outside of the database: ids only, a line of JSON each.

A backup from before an erasure holds the person still. Whoever restores it replays this list
(`manage.py replay_erasures`); until then the product says that it is not ready.
"""

import json
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings

from clients.models import Client, Erasure, ErasureStep, Shut
from clients.people import person


@dataclass(frozen=True)
class Line:
    """One erasure; the moment of registration tells the person from a later one's number."""

    client: int
    registered_at: str
    kept_until: str

    @property
    def key(self) -> tuple[int, str]:
        return self.client, self.registered_at


def path() -> Path:
    """Return the path of the list."""
    return Path(settings.ERASURE_LIST)


def lines() -> list[Line]:
    """Return the list, the last line of each person."""
    if not path().exists():
        return []
    found = {}
    for text in path().read_text(encoding="utf-8").splitlines():
        try:
            read: dict[str, Any] = json.loads(text)
            line = Line(int(read["client"]), read["registered_at"], read["kept_until"] or "")
        except (ValueError, KeyError, TypeError):  # torn by a crash; `complete` adds it again
            continue
        found[line.key] = line
    return list(found.values())


def complete() -> int:
    """Add what the database knows and the list does not; return how many lines."""
    known = {line.key for line in lines()}
    missing = [line for line in _erased() if line.key not in known]
    if missing:
        path().parent.mkdir(parents=True, exist_ok=True)
        with open(os.open(path(), os.O_CREAT | os.O_APPEND | os.O_WRONLY, 0o600), "a") as out:
            out.writelines(
                json.dumps(
                    {
                        "client": line.client,
                        "registered_at": line.registered_at,
                        "kept_until": line.kept_until or None,
                    }
                )
                + "\n"
                for line in missing
            )
            out.flush()
            os.fsync(out.fileno())
    return len(missing)


def forgotten() -> list[tuple[Client, Line]]:
    """Return who was erased and is here again, since an older backup was restored."""
    by_client = {line.client: line for line in lines()}
    here = Client.objects.filter(pk__in=by_client).exclude(shut=Shut.ERASED)
    return [
        (client, by_client[client.pk])
        for client in here
        if client.registered_at.isoformat() == by_client[client.pk].registered_at
    ]


def _erased() -> Iterator[Line]:
    done = Erasure.objects.filter(step=ErasureStep.DONE).select_related("client")
    for row in done:
        for pk in person.ids_of(row.client):
            client = row.client if pk == row.client_id else Client.objects.get(pk=pk)
            until = row.kept_until.isoformat() if row.kept_until else ""
            yield Line(pk, client.registered_at.isoformat(), until)
