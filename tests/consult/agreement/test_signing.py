"""The chain of sign-offs: what is frozen stays frozen, and a change is named."""

import datetime as dt
import json

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from consult.agreement import signing
from consult.models import SignOff
from consult.services.agreement import recorded_digests
from salon.models import Salon, Staff
from tests.factories.consult import SIGNATURE, Story, opened


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


def _broken(salon: Salon) -> signing.BrokenLink | None:
    links = SignOff.objects.filter(salon=salon).order_by("number")
    return signing.first_broken_link(links, recorded=recorded_digests(salon))


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


def test_a_link_is_the_sha_256_of_number_previous_and_snapshot() -> None:
    """FIPS 180-4: SHA-256 of "abc" (its appendix example) anchors the digest used."""
    assert signing.text_digest("abc") == (
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    )
    assert signing.link_digest(number=1, previous="x", snapshot="{}") == signing.text_digest(
        "1\nx\n{}"
    )


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
    assert _broken(salon) is None


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
        ("signed_name", "Someone else", "the signature beside it has changed"),
        ("strokes", "[[[1,1]]]", "the signature beside it has changed"),
        ("guardian_of", "Ada", "the signature beside it has changed"),
        ("digest", "0" * 63 + "1", "what was signed has changed"),
    ],
)
def test_a_change_names_the_link_that_it_broke(
    salon: Salon, three: list[SignOff], column: str, value: str, reason: str
) -> None:
    _tamper(column, value, 2)

    assert _broken(salon) == signing.BrokenLink(2, reason)


def test_a_link_that_was_made_anew_with_a_fitting_digest_is_still_seen(
    salon: Salon, three: list[SignOff]
) -> None:
    """Whoever rewrites a link and its digest breaks the next one; the last, the audit trail."""
    text = three[2].snapshot.replace("Cleo", "Zoe!")
    _tamper("snapshot", text, 3)
    _tamper(
        "digest",
        signing.link_digest(number=3, previous=three[2].previous_digest, snapshot=text),
        3,
    )

    assert _broken(salon) == signing.BrokenLink(3, "the audit trail remembers another one")


@pytest.mark.parametrize("number", [1, 2, 3])
def test_a_missing_link_is_named_even_at_the_end(
    salon: Salon, three: list[SignOff], number: int
) -> None:
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM consult_signoff WHERE number = %s", [number])

    assert _broken(salon) == signing.BrokenLink(number, "it is missing")


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
