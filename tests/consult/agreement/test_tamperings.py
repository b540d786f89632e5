# ruff: noqa: S608  the tables' own names
"""What somebody with the database's password may try, and what catches it.

Each row of the table is tried on one chain of three sign-offs, with the guards installed and
an anchor kept elsewhere, and is undone afterwards. A row names the database that it applies to.
"""

import datetime as dt
from collections.abc import Callable

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, connection, transaction
from pytest_django import Settings

from consult.models import SignOff
from salon import signing_keys, triggers
from salon.models import AuditEvent
from tests.consult.agreement.tampered import (
    AUDIT,
    SIGNED,
    Chain,
    move_to_another_client,
    replace_key_and_forge,
    replacing,
    run,
    signed_by,
    swap_signatures,
)

SQLITE = connection.vendor == "sqlite"
COLUMNS = [field.column for field in SignOff._meta.concrete_fields]


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


REPLACE = replacing(SIGNED, COLUMNS, "signed_name", "'Nobody'")
REPLACE_AUDIT = replacing(
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
        "sign-off 1: its signature does not match",
    ),
    (
        "a visit is given to another client",
        BOTH,
        move_to_another_client,
        CHAIN,
        "sign-off 2: its signature does not match",
    ),
    (
        "a sign-off is given another time",
        BOTH,
        unguarded(lambda chain: chain.rewrite(start=2, signed_at=LATER)),
        CHAIN,
        "sign-off 2: its signature does not match",
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
        "sign-off 2: its signature does not match",
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
        "sign-off 4: it is signed with an unknown key",
    ),
    (
        "a last row is forged by a key that was replaced",
        BOTH,
        replace_key_and_forge,
        CHAIN,
        "sign-off 4: it is signed with a key that had already been replaced",
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
def test_every_tampering_is_noticed(
    chain: Chain, settings: Settings, subtests: pytest.Subtests
) -> None:
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
