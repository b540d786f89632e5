# ruff: noqa: S608  the tables' own names
"""A chain of sign-offs in the hands of somebody with the database's password."""

import hashlib
import json
from dataclasses import dataclass
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.db import connection

from clients.models import Client
from consult.agreement import signing
from consult.models import Anchor, SignOff
from salon.models import AuditEvent, Salon
from salon.signing_keys import Signer

SIGNED, AUDIT = SignOff._meta.db_table, AuditEvent._meta.db_table
WRITTEN = (
    "visit_id", "signed_name", "strokes", "signed_at", "witness_id", "snapshot", "version",
    "previous_digest", "digest", "content_salt", "content_digest", "key_id", "signature",
)  # fmt: skip


@dataclass
class Chain:
    """Three sign-offs of three clients, and an anchor of them that was kept elsewhere."""

    salon: Salon
    anchor: Path
    other: Client

    def link(self, number: int) -> SignOff:
        return SignOff.objects.select_related("visit", "choice").get(
            salon=self.salon, number=number
        )

    def rewrite(self, *, start: int = 1, key: Signer | None = None, **changes: object) -> None:
        """Change sign-off `start` and rebuild all after it, their audit rows too.

        With `key` everything is signed again; without it the old signatures stay.
        """
        previous = self.link(start).previous_digest
        for number in range(start, SignOff.objects.filter(salon=self.salon).count() + 1):
            link = self.link(number)
            for name, value in changes.items() if number == start else ():
                setattr(link, name, value)
            link.previous_digest = previous
            if key:
                signing.sign(link, key)
            else:
                link.content_digest = signing.content_digest(link)
                link.digest = hashlib.sha256(signing.message_of(link)).hexdigest()
            previous = link.digest
            sets = ", ".join(f"{name} = %s" for name in WRITTEN)
            values = [getattr(link, name) for name in WRITTEN]
            run(f"UPDATE {SIGNED} SET {sets} WHERE id = %s", [*values, link.pk])
            detail = json.dumps({"number": number, "digest": link.digest})
            run(
                f"UPDATE {AUDIT} SET detail = %s WHERE kind = 'sign-off linked'"
                " AND target_id = %s",
                [detail, str(link.pk)],
            )

    def forge(self, key: Signer) -> None:
        """Add a fourth sign-off that nobody signed: a copy of the third, which is allowed."""
        link = self.link(3)
        link.number, link.previous_digest = 4, link.digest
        choice = link.choice
        places = list(choice.places.all())
        choice.pk, choice.number, choice._state.adding = None, choice.number + 1, True
        choice.save()
        for place in places:
            place.pk, place.choice, place._state.adding = None, choice, True
            place.save()
        link.choice = choice
        frozen = {**json.loads(link.snapshot), "choice": choice.number}
        link.snapshot = signing.canonical_json(frozen)
        link.pk, link._state.adding = None, True
        signing.sign(link, key)
        link.save()

    def cut(self, last: int) -> None:
        """Remove everything after `last`, audit rows and anchors in the database too."""
        run(f"DELETE FROM {SIGNED} WHERE number > %s", [last])
        run(f"DELETE FROM {AUDIT} WHERE kind IN ('sign-off linked', 'sign-offs anchored')")
        run(f"DELETE FROM {Anchor._meta.db_table}")


def run(statement: str, values: list[str | int | None] | None = None) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)


def signed_by(secret: bytes) -> Signer:
    return Signer(Ed25519PrivateKey.from_private_bytes(secret))


def swap_signatures(chain: Chain) -> None:
    """Exchange what two clients signed, signature and all, between their visits."""
    names = ["signed_name", "snapshot", "content_salt", "content_digest", "signature"]
    first, second = chain.link(1), chain.link(2)
    for here, there in ((first, second), (second, first)):
        sets = ", ".join(f"{name} = %s" for name in names)
        values = [getattr(there, name) for name in names]
        run(f"UPDATE {SIGNED} SET {sets} WHERE id = %s", [*values, here.pk])


def move_to_another_client(chain: Chain) -> None:
    """No guard needs to go: a visit is no append-only row."""
    run(
        "UPDATE consult_visit SET client_id = %s WHERE id = %s",
        [chain.other.pk, chain.link(2).visit_id],
    )


def replace_key_and_forge(chain: Chain) -> None:
    """Sign by a key that was replaced after the third sign-off."""
    chain.forge(signed_by(b"k" * 32))


def replacing(table: str, columns: list[str], changed: str, value: str) -> str:
    """Return the statement that exchanges rows through an INSERT."""
    picked = ", ".join(value if name == changed else name for name in columns)
    rows = f"SELECT {picked} FROM {table} WHERE true"
    into = f"INTO {table} ({', '.join(columns)}) {rows}"
    if connection.vendor == "sqlite":
        return f"INSERT OR REPLACE {into}"
    return f"INSERT {into} ON CONFLICT (id) DO UPDATE SET {changed} = excluded.{changed}"
