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

from clients.models import ClientKey
from consult.agreement import signing, verification
from consult.models import SignOff
from salon import signing_keys
from salon.models import Salon, Staff
from tests.consult.agreement.tampered import Chain, run
from tests.factories.clients import ClientFactory
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


@pytest.fixture
def old(salon: Salon, three: list[SignOff], tmp_path: Path) -> Chain:
    """The same three, the first of them from before there was a key to sign with."""
    chain = Chain(salon, tmp_path, ClientFactory(salon=salon))
    first = chain.link(1)
    digest = signing.link_digest(
        number=1, previous=signing.GENESIS, snapshot=str(first.snapshot)
    )
    run(
        "UPDATE consult_signoff SET version = 1, key_id = '', signature = '', digest = %s"
        " WHERE number = 1",
        [digest],
    )
    detail = json.dumps({"number": 1, "digest": digest})
    run(
        "UPDATE salon_auditevent SET detail = %s WHERE kind = 'sign-off linked'"
        " AND target_id = %s",
        [detail, str(first.pk)],
    )
    _tamper("previous_digest", digest, 2)
    chain.rewrite(start=2, key=signing_keys.signer())
    return chain


def test_a_chain_that_began_before_there_was_a_key_holds(old: Chain) -> None:
    assert [old.link(number).version for number in (1, 2, 3)] == [1, 2, 2]
    assert verification.fault_in(old.salon) is None


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ("consult_signoff SET digest = 'x'", "what was signed has changed"),
        ("consult_signoff SET signed_name = 'x'", "the signature beside it has changed"),
        ("consult_signoff SET visit_id = {other_visit}", "it belongs to another visit"),
        ("consult_visit SET client_id = {other_client}", "it belongs to another client"),
        ("consult_choice SET number = 9", "it belongs to another choice"),
        ("consult_choice SET wanted_level = 5", "the choice that was signed has changed"),
    ],
)
def test_a_link_without_a_signature_is_compared_with_the_rows_beside_it(
    old: Chain, change: str, reason: str
) -> None:
    """Its digest covers what was shown and nothing else: the rows have to say the same."""
    link, other = old.link(1), old.link(2)
    pk = {
        "consult_signoff": link.pk,
        "consult_visit": link.visit_id,
        "consult_choice": link.choice_id,
    }[change.partition(" ")[0]]
    values = {"other_visit": other.visit_id, "other_client": old.other.pk}
    run(f"UPDATE {change.format(**values)} WHERE id = %s", [pk])

    assert verification.fault_in(old.salon) == verification.BrokenLink(1, reason)


def _hold_only_where_erased(link: SignOff, at: dt.datetime) -> None:
    """Destroy the keys of a link's client, and look with an erasure on record and without."""
    client = link.visit.client_id
    ClientKey.objects.filter(client=client).update(wrapped="", destroyed_at=at)
    links, keys = list(verification.links_of(link.salon)), signing_keys.known()

    assert verification.first_broken_link(links, keys=keys, erased={client}) is None
    assert verification.first_broken_link(links, keys=keys) == verification.BrokenLink(
        link.number, "it cannot be read, and no erasure is on record"
    )


def test_what_cannot_be_read_holds_only_where_an_erasure_is_on_record(
    three: list[SignOff], now: dt.datetime
) -> None:
    _hold_only_where_erased(three[1], now)


def test_so_does_what_was_never_signed_by_a_key(old: Chain, now: dt.datetime) -> None:
    """The links after it seal its digest."""
    _hold_only_where_erased(old.link(1), now)


def test_a_link_is_held_to_the_one_before_it_and_to_the_record_of_changes(
    salon: Salon, three: list[SignOff]
) -> None:
    links, keys = list(verification.links_of(salon)), signing_keys.known()
    recorded = {**verification.recorded_digests(salon), 2: three[0].digest}

    assert verification.first_broken_link(
        links, keys=keys, recorded=recorded
    ) == verification.BrokenLink(2, "the record of changes has a different one")
    links[1].previous_digest = signing.GENESIS
    assert verification.first_broken_link(links, keys=keys) == verification.BrokenLink(
        2, "it does not follow the one before it"
    )


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
