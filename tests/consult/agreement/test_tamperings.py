# ruff: noqa: S608  the tables' own names
"""What somebody with the database's password may try, and what catches it.

Each row of the table is tried on one chain of three sign-offs, with the guards installed and
an anchor kept elsewhere, and is undone afterwards. A row names the database that it applies to.
"""

import base64
import datetime as dt
import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.core.management import CommandError, call_command
from django.db import IntegrityError, connection, transaction

from clients.models import Client
from consult import services
from consult.agreement import signing
from consult.models import Anchor, SignOff
from salon import signing_keys, triggers
from salon.models import AuditEvent, Salon, Staff
from salon.signing_keys import Signer
from tests.factories.clients import ClientFactory
from tests.factories.consult import opened

SQLITE = connection.vendor == "sqlite"
SIGNED, AUDIT = SignOff._meta.db_table, AuditEvent._meta.db_table
COLUMNS = [field.column for field in SignOff._meta.concrete_fields]
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


def run(statement: str, values: list | None = None) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)


def unguarded(*acts: Callable[[Chain], None]) -> Callable[[Chain], None]:
    """Return what is done once the guards were removed."""

    def done(chain: Chain) -> None:
        if not SQLITE:
            run("SET CONSTRAINTS ALL IMMEDIATE")
        triggers.remove(connection)
        for act in acts:
            act(chain)

    return done


def sql(*statements: str) -> Callable[[Chain], None]:
    def done(chain: Chain) -> None:
        if not SQLITE:
            run(
                "SET CONSTRAINTS ALL IMMEDIATE"
            )  # or a table with checks to come is not altered
        for statement in statements:
            run(statement)

    return done


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


def _replacing(table: str, columns: list[str], changed: str, value: str) -> str:
    """Return the statement that exchanges rows through an INSERT."""
    picked = ", ".join(value if name == changed else name for name in columns)
    rows = f"SELECT {picked} FROM {table} WHERE true"
    into = f"INTO {table} ({', '.join(columns)}) {rows}"
    if SQLITE:
        return f"INSERT OR REPLACE {into}"
    return f"INSERT {into} ON CONFLICT (id) DO UPDATE SET {changed} = excluded.{changed}"


REPLACE = _replacing(SIGNED, COLUMNS, "signed_name", "'Nobody'")
REPLACE_AUDIT = _replacing(
    AUDIT, [field.column for field in AuditEvent._meta.concrete_fields], "kind", "'x'"
)
NO_UPDATE = triggers.names(SignOff)["UPDATE"]
ON = "" if SQLITE else f" ON {SIGNED}"
EMPTIED = (
    f"CREATE TRIGGER {NO_UPDATE} BEFORE UPDATE ON {SIGNED} BEGIN SELECT 1; END"
    if SQLITE
    else f"CREATE TRIGGER {NO_UPDATE} BEFORE UPDATE ON {SIGNED} FOR EACH ROW"
    " WHEN (false) EXECUTE FUNCTION salon_refuse_change()"
)
LATER = dt.datetime(2020, 1, 1, tzinfo=dt.UTC)
BOTH, LITE, POSTGRES = {"sqlite", "postgresql"}, {"sqlite"}, {"postgresql"}

# What is tried, where, what it does, who notices, and in which words.
REFUSED, CHECK, CHAIN, ANCHOR = "the guards", "check", "verify_signoffs", "an anchor"
TABLE = [
    ("a name is changed", BOTH, sql(f"UPDATE {SIGNED} SET signed_name = 'x'"), REFUSED, ""),
    ("a row is deleted", BOTH, sql(f"DELETE FROM {SIGNED} WHERE number = 2"), REFUSED, ""),
    ("rows are replaced", BOTH, sql(REPLACE), REFUSED, ""),
    ("audit rows are replaced", BOTH, sql(REPLACE_AUDIT), REFUSED, ""),
    ("the table is truncated", POSTGRES, sql(f"TRUNCATE {SIGNED} CASCADE"), REFUSED, ""),
    ("truncated by the visits", POSTGRES, sql("TRUNCATE consult_visit CASCADE"), REFUSED, ""),
    (
        "as a replica",
        POSTGRES,
        sql("SET LOCAL session_replication_role = replica", f"DELETE FROM {SIGNED}"),
        REFUSED,
        "",
    ),
    (
        "a visit's key is moved",
        BOTH,
        sql("UPDATE consult_visit SET id = id + 1000"),
        REFUSED,
        "",
    ),
    ("a guard is dropped", BOTH, sql(f"DROP TRIGGER {NO_UPDATE}{ON}"), CHECK, "is missing"),
    (
        "a guard is emptied",
        BOTH,
        sql(f"DROP TRIGGER {NO_UPDATE}{ON}", EMPTIED),
        CHECK,
        "not as it was installed",
    ),
    (
        "a guard is disabled",
        POSTGRES,
        sql(f"ALTER TABLE {SIGNED} DISABLE TRIGGER {NO_UPDATE}"),
        CHECK,
        "switched off",
    ),
    (
        "the guards' function is emptied",
        POSTGRES,
        sql(
            "CREATE OR REPLACE FUNCTION salon_refuse_change() RETURNS trigger AS"
            " $$BEGIN RETURN NULL; END$$ LANGUAGE plpgsql"
        ),
        CHECK,
        "not as it was installed",
    ),
    (
        "inserts are thrown away",
        BOTH,
        sql(
            f"CREATE TRIGGER odd BEFORE INSERT ON {SIGNED} BEGIN SELECT RAISE(IGNORE); END"
            if SQLITE
            else f"CREATE RULE odd AS ON INSERT TO {SIGNED} DO INSTEAD NOTHING"
        ),
        CHECK,
        "nobody installed: odd",
    ),
    (
        "signatures are swapped between visits",
        BOTH,
        unguarded(swap_signatures),
        CHAIN,
        "sign-off 1: its signature does not fit",
    ),
    (
        "a visit is given to another client",
        BOTH,
        move_to_another_client,
        CHAIN,
        "sign-off 2: its signature does not fit",
    ),
    (
        "a sign-off is given another time",
        BOTH,
        unguarded(lambda chain: chain.rewrite(start=2, signed_at=LATER)),
        CHAIN,
        "sign-off 2: its signature does not fit",
    ),
    (
        "what was shown is worded otherwise",
        BOTH,
        unguarded(sql("UPDATE consult_chosenplace SET statement = 'Nothing stays warm.'")),
        CHAIN,
        "sign-off 1: the choice that was signed has changed",
    ),
    (
        "the tail is written again with its audit rows",
        BOTH,
        unguarded(lambda chain: chain.rewrite(start=2, signed_name="Nobody")),
        CHAIN,
        "sign-off 2: its signature does not fit",
    ),
    (
        "the tail is written as before there was a key",
        BOTH,
        unguarded(
            sql(f"UPDATE {SIGNED} SET version = 1, key_id = '', signature = ''"
                " WHERE number = 3")
        ),
        CHAIN,
        "sign-off 3: it is not signed",
    ),
    (
        "a last row is forged",
        BOTH,
        lambda chain: chain.forge(signed_by(b"x" * 32)),
        CHAIN,
        "sign-off 4: it is signed by an unknown key",
    ),
    (
        "a last row is forged by a key that was replaced",
        BOTH,
        replace_key_and_forge,
        CHAIN,
        "sign-off 4: it is signed by a key that was replaced before",
    ),
    (
        "a row in between is removed",
        BOTH,
        unguarded(sql(f"DELETE FROM {SIGNED} WHERE number = 2")),
        CHAIN,
        "sign-off 2: it is missing",
    ),
    (
        "the tail is cut, audit rows too",
        BOTH,
        unguarded(lambda chain: chain.cut(2)),
        ANCHOR,
        "sign-off 3: it is missing, but an anchor has it",
    ),
    (
        "everything is deleted",
        BOTH,
        unguarded(lambda chain: chain.cut(0)),
        ANCHOR,
        "sign-off 1: it is missing, but an anchor has it",
    ),
    (
        "the tail is signed again with the stolen key",
        BOTH,
        unguarded(lambda chain: chain.rewrite(start=2, key=signing_keys.signer())),
        ANCHOR,
        "sign-off 2: an anchor has a different one",
    ),
    (
        "a new tail is grown after a cut",
        BOTH,
        unguarded(
            lambda chain: chain.cut(2),
            lambda chain: chain.rewrite(start=2, key=signing_keys.signer()),
        ),
        ANCHOR,
        "sign-off 2: an anchor has a different one",
    ),
]  # fmt: skip


@pytest.fixture
def chain(salon: Salon, stylist: Staff, now: dt.datetime, settings, tmp_path: Path) -> Chain:
    settings.ANCHOR_DIR = str(tmp_path)
    keys = {secret: base64.b64encode(secret * 32).decode() for secret in (b"k", b"n")}
    settings.SIGNING_KEY = keys[b"k"]
    for name in ("Ada", "Berta", "Cleo"):
        if name == "Cleo":  # the key is replaced before the last one
            settings.FORMER_SIGNING_KEYS = [signing_keys.signer().public.text]
            settings.SIGNING_KEY = keys[b"n"]
        story = opened(salon, stylist=stylist, at=now - dt.timedelta(hours=2), name=name)
        story.answer().read()
        story.choose()
        story.sign()
    services.anchor_sign_offs(salon=salon, by=None, at=now)
    return Chain(salon, tmp_path, ClientFactory(salon=salon))


def _notice(chain: Chain, who: str, acts: Callable[[Chain], None], words: str) -> None:
    if who == REFUSED:
        with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
            acts(chain)
        return
    acts(chain)
    if who == CHECK:
        with pytest.raises(CommandError, match=words):
            call_command("check", databases=["default"])
        return
    with pytest.raises(CommandError, match=words):
        call_command("verify_signoffs", anchor=[chain.anchor] if who == ANCHOR else [])


@pytest.mark.usefixtures("append_only_triggers")
def test_every_tampering_is_noticed(chain: Chain, settings, subtests) -> None:
    settings.APPEND_ONLY_TRIGGERS = True
    call_command("check", databases=["default"])
    call_command("verify_signoffs", anchor=[chain.anchor])

    for name, databases, acts, who, words in TABLE:
        if connection.vendor not in databases:
            continue
        with subtests.test(f"{name}: noticed by {who}"), transaction.atomic():
            try:
                _notice(chain, who, acts, words)
            finally:
                transaction.set_rollback(True)

    call_command("check", databases=["default"])
    call_command("verify_signoffs", anchor=[chain.anchor])


def test_without_an_anchor_a_cut_tail_passes_and_that_is_known(chain: Chain) -> None:
    """Why there are anchors: nothing inside of the database tells that it ever was longer."""
    chain.cut(2)

    call_command("verify_signoffs")
