"""Whose data were erased, noted outside of the database: ids only, a line of JSON each.

A backup from before an erasure holds the person still. Whoever restores it replays this list
(`manage.py replay_erasures`); until then the product says that it is not ready.
"""

import datetime as dt
import json
import os
from collections.abc import Iterator, Sequence
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


def add(found: Sequence[Line]) -> None:
    """Add lines, and return when they are on the disk."""
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
            for line in found
        )
        out.flush()
        os.fsync(out.fileno())


def complete() -> int:
    """Add what the database knows and the list does not; return how many lines.

    It reads everybody who was ever erased: for each night, not for each erasure.
    """
    known = {line.key for line in lines()}
    missing = [line for line in _erased() if line.key not in known]
    if missing:
        add(missing)
    return len(missing)


def forgotten() -> list[tuple[Client, Line]]:
    """Return who was erased and is here again, since an older backup was restored."""
    by_client = {line.client: line for line in lines()}
    here = Client.objects.exclude(shut=Shut.ERASED).in_bulk(by_client.keys())
    return [
        (client, by_client[client.pk])
        for client in here.values()
        if client.registered_at.isoformat() == by_client[client.pk].registered_at
    ]


def _erased() -> Iterator[Line]:
    done = Erasure.objects.filter(step=ErasureStep.DONE).order_by("recorded_at", "pk")
    until = dict(done.values_list("client", "kept_until"))
    entries = Client.objects.filter(person.named_by("pk", done.order_by().values("client")))
    found = entries.order_by("pk").values_list("pk", "merged_into", "registered_at")
    for pk, merged_into, registered_at in found.iterator():
        whose = pk if merged_into is None or pk in until else merged_into
        yield line_of(pk, registered_at, until[whose])


def line_of(client: int, registered_at: dt.datetime, kept_until: dt.date | None) -> Line:
    """Return the line of an entry that is erased."""
    return Line(client, registered_at.isoformat(), kept_until.isoformat() if kept_until else "")
