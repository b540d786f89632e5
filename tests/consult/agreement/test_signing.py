"""The chain of sign-offs: what is frozen stays frozen, and a change is named."""

import datetime as dt
import hashlib
import json
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from django.core.management import CommandError, call_command
from django.db import connection

from consult.agreement import signing, verification
from consult.models import SignOff
from salon import signing_keys
from salon.models import Salon, Staff
from tests.factories.consult import SIGNATURE, Story, opened
from tests.openssl import openssl


@pytest.fixture
def three(salon: Salon, stylist: Staff, now: dt.datetime) -> list[SignOff]:
    """Three sign-offs of one salon."""
    signed = []
    for name in ("Ada", "Berta", "Cleo"):
        story = opened(salon, stylist=stylist, at=now - dt.timedelta(hours=2), name=name)
        story.answer().read()
        story.choose()
        signed.append(story.sign())
    return signed


def _tamper(column: str, value: str, number: int) -> None:
    """Change a row as someone with the database's password could."""
    with connection.cursor() as cursor:
        cursor.execute(
            f"UPDATE consult_signoff SET {column} = %s WHERE number = %s",  # noqa: S608
            [value, number],
        )


def test_canonical_json_sorts_keys_and_refuses_what_is_no_number() -> None:
    assert signing.canonical_json({"b": 1, "a": "ü"}) == '{"a":"ü","b":1}'
    with pytest.raises(ValueError, match="JSON"):
        signing.canonical_json({"a": float("nan")})


def test_an_old_link_is_the_sha_256_of_number_previous_and_snapshot() -> None:
    """FIPS 180-4: SHA-256 of "abc" (its appendix example) anchors the digest used."""
    assert signing.text_digest("abc") == (
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    )
    assert signing.link_digest(number=1, previous="x", snapshot="{}") == signing.text_digest(
        "1\nx\n{}"
    )


def test_a_link_covers_whose_it_is_where_it_stands_and_when(three: list[SignOff]) -> None:
    link = three[1]

    first_line, _end, covered = signing.message_of(link).decode().partition("\n")

    assert first_line == "salon sign-off 2"
    assert json.loads(covered) == {
        "version": 2,
        "salon": link.salon_id,
        "position": 2,
        "previous": three[0].digest,
        "visit": link.visit_id,
        "choice": link.choice_id,
        "client": link.visit.client_id,
        "witness": link.witness_id,
        "method": "typed",
        "at": signing.moment(link.signed_at),
        "content": link.content_digest,
        "key": signing_keys.signer().public.key_id,
    }
    assert hashlib.sha256(signing.message_of(link)).hexdigest() == link.digest


def test_openssl_verifies_a_link(three: list[SignOff], tmp_path: Path) -> None:
    """The signature is Ed25519 as others read it, not only as it was written."""
    raw = Ed25519PublicKey.from_public_bytes(signing_keys.signer().public.raw)
    pem = raw.public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)
    (tmp_path / "key.pem").write_bytes(pem)
    (tmp_path / "message").write_bytes(signing.message_of(three[2]))
    (tmp_path / "signature").write_bytes(bytes.fromhex(three[2].signature))

    printed = openssl(
        "pkeyutl -verify -pubin -inkey key.pem -rawin -in message -sigfile signature",
        folder=tmp_path,
    )

    assert "Signature Verified Successfully" in printed


def test_links_number_on_and_chain_within_a_salon(
    three: list[SignOff], other_salon: Salon, now: dt.datetime
) -> None:
    from tests.factories.consult import owner_of

    elsewhere = opened(other_salon, stylist=owner_of(other_salon), at=now)
    elsewhere.answer().read()
    elsewhere.choose()

    first_there = elsewhere.sign()

    assert [one.number for one in three] == [1, 2, 3]
    assert three[0].previous_digest == signing.GENESIS
    assert three[2].previous_digest == three[1].digest
    assert (first_there.number, first_there.previous_digest) == (1, signing.GENESIS)


def test_an_untouched_chain_holds(salon: Salon, three: list[SignOff]) -> None:
    assert verification.fault_in(salon) is None


def test_the_snapshot_freezes_what_was_shown(story: Story) -> None:
    story.answer().read()
    choice = story.choose()

    signed = story.sign(method="drawn", drawn=SIGNATURE)

    frozen = json.loads(signed.snapshot)
    (place,) = frozen["places"]
    standing = choice.places.get()
    assert place["statement"] == standing.statement
    assert place["predicted"] == standing.predicted
    assert place["shown"]["limit"] == standing.shown["limit"]
    assert [reading["zone"] for reading in place["readings"]] == [
        "roots",
        "mid_lengths",
        "ends",
    ]
    assert {row["question"] for row in frozen["answers"]} >= {"scalp", "pregnancy"}
    assert frozen["versions"]["engine"] == choice.engine_version
    assert frozen["signed"]["method"] == "drawn"
    assert frozen["signed"]["witness"] == story.by.display_name
    assert frozen["wording_version"]


@pytest.mark.parametrize(
    ("column", "value", "reason"),
    [
        ("snapshot", '{"signed":{}}', "what was signed has changed"),
        ("signed_name", "Someone else", "what was signed has changed"),
        ("strokes", "[[[1,1]]]", "what was signed has changed"),
        ("guardian_of", "Ada", "what was signed has changed"),
        ("content_salt", "0" * 32, "what was signed has changed"),
        ("digest", "0" * 63 + "1", "its digest does not match"),
        ("signature", "0" * 128, "its signature does not match"),
        ("key_id", "0" * 16, "it is signed with an unknown key"),
    ],
)
def test_a_change_names_the_link_that_it_broke(
    salon: Salon, three: list[SignOff], column: str, value: str, reason: str
) -> None:
    _tamper(column, value, 2)

    assert verification.fault_in(salon) == verification.BrokenLink(2, reason)


@pytest.mark.parametrize("number", [1, 2, 3])
def test_a_missing_link_is_named_even_at_the_end(
    salon: Salon, three: list[SignOff], number: int
) -> None:
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM consult_signoff WHERE number = %s", [number])

    assert verification.fault_in(salon) == verification.BrokenLink(number, "it is missing")


def test_the_command_says_that_all_links_hold(
    salon: Salon, three: list[SignOff], capsys: pytest.CaptureFixture[str]
) -> None:
    call_command("verify_signoffs")

    assert f"{salon}: 3 sign-offs, all links hold." in capsys.readouterr().out


def test_the_command_fails_and_names_the_first_broken_link(
    salon: Salon, three: list[SignOff]
) -> None:
    _tamper("signed_name", "Nobody", 2)

    with pytest.raises(CommandError, match=f"{salon}: sign-off 2"):
        call_command("verify_signoffs")


def test_a_changed_plan_asks_for_a_new_signature_and_keeps_the_old(story: Story) -> None:
    story.to_bench(aim=60)
    first = story.visit.sign_offs.get()

    story.choose(aim=10)

    assert story.facts.due == "sign"
    second = story.sign()
    assert second.number == first.number + 1
    assert list(story.visit.sign_offs.values_list("number", flat=True)) == [1, 2]
    assert first.snapshot != second.snapshot
