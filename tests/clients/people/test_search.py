"""Finding people as a desk does: by any beginning, with accents, mistakes, numbers, dates."""

import datetime as dt

import pytest
from django.utils import translation
from pytest_django import DjangoAssertNumQueries, Settings

from clients import services
from clients.models import Client, SearchKey, SearchVariant
from clients.people import search
from clients.selectors import find_clients
from salon.models import Salon, Staff
from tests.factories.clients import ClientFactory


@pytest.fixture
def people(salon: Salon) -> dict[str, Client]:
    given = {
        "siobhan": (
            "Siobhán Ní Dhálaigh",
            "+353871234567",
            "siobhan@example.com",
            "1988-04-12",
        ),
        "osullivan": ("Maeve O’Sullivan-Hartigan", "+441174960102", "", "1979-11-30"),
        "olga": ("Ольга Преображенская", "", "olga.p@example.com", None),
        "noor": ("نور الهدى", "", "", None),
        "li": ("李小龍", "", "", None),
        "jose": ("José María Núñez", "", "", "1988-04-12"),
        "mei": ("Mei Lindqvist", "+441174960307", "", "1990-02-28"),
        "muhammad": ("محمد صالح", "", "", None),
        "johnson": ("Peter Johnson", "+441174960199", "", None),
    }
    return {
        key: ClientFactory(
            salon=salon, name=name, phone=phone, email=email,
            birth_date=dt.date.fromisoformat(born) if born else None,
        )
        for key, (name, phone, email, born) in given.items()
    }  # fmt: skip


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("sio", "siobhan"),
        ("Dhalaigh", "siobhan"),
        ("DHÁL sio", "siobhan"),
        ("o'sull", "osullivan"),
        ("osulliv", "osullivan"),
        ("hart mae", "osullivan"),
        ("ольг", "olga"),
        ("نور", "noor"),
        ("李", "li"),
        ("nunez jos", "jose"),
        ("087 123 4567", "siobhan"),
        ("+353 87 123", "siobhan"),
        ("00353871234567", "siobhan"),
        ("0117 496 0102", "osullivan"),
        ("+44 (0)117 4960102", "osullivan"),
        ("0199", "johnson"),
        ("olga.p@", "olga"),
        ("SIOBHAN@EXAMPLE", "siobhan"),
        ("30/11/1979", "osullivan"),
        ("30.11.1979", "osullivan"),
        ("1979-11-30", "osullivan"),
        # one mistake: a letter swapped, left out, added, changed; also while still typing
        ("jonhson", "johnson"),
        ("johson", "johnson"),
        ("johnnson", "johnson"),
        ("jognson", "johnson"),
        ("jonhs", "johnson"),
        ("sioban", "siobhan"),
        ("qwertz", None),
        # the middle of a number, its last two digits
        ("496 03", "mei"),
        ("4960", "osullivan"),
        ("67", "siobhan"),
        # parts of a birth date
        ("30.11.79", "osullivan"),
        ("30111979", "osullivan"),
        ("november 1979", "osullivan"),
        ("30 november", "osullivan"),
        ("Nov 1979", "osullivan"),
        ("1979", "osullivan"),
        # other scripts in Latin letters, and a given name without its family name
        ("preobr", "olga"),
        ("小龍", "li"),
        ("xiaolong", "li"),
        ("nour", "noor"),
        ("huda", "noor"),
        ("mohamed", "muhammad"),
        ("Muhammad", "muhammad"),
        # two kinds together
        ("mae 1979", "osullivan"),
        ("mae 0102", "osullivan"),
        ("johnson 496", "johnson"),
        ("maeve november", "osullivan"),
    ],
)
def test_a_text_leads_to_its_client_first(
    people: dict[str, Client], salon: Salon, settings: Settings, text: str, expected: str | None
) -> None:
    settings.PHONENUMBER_DEFAULT_REGION = "IE" if "087" in text else "GB"

    found = find_clients(salon=salon, text=text)

    if expected is None:
        assert found == []
    else:
        assert found[0] == people[expected]


def test_a_birth_date_finds_everyone_born_that_day(
    people: dict[str, Client], salon: Salon
) -> None:
    found = find_clients(salon=salon, text="12/4/1988")

    assert set(found) == {people["siobhan"], people["jose"]}


@pytest.mark.parametrize(
    "text", ["%", "_", "'", "\\", "*", "&", "#1", "😀", "a" * 500, "31/02/2020"]
)
def test_strange_texts_find_nobody_and_break_nothing(
    people: dict[str, Client], salon: Salon, text: str
) -> None:
    assert find_clients(salon=salon, text=text) == []


def test_who_was_booked_last_stands_first(salon: Salon, now: dt.datetime) -> None:
    ClientFactory(salon=salon, name="Maria Aa")
    regular = ClientFactory(salon=salon, name="Maria Zz", last_booked_at=now)

    assert find_clients(salon=salon, text="mar")[0] == regular
    assert find_clients(salon=salon, text="")[0] == regular


def test_of_more_than_are_ranked_who_was_booked_last_still_stands_first(
    salon: Salon, now: dt.datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(search, "_SHORT_CAP", 2)
    monkeypatch.setattr(search, "_LATEST", 2)
    for name in ("Maria Aa", "Maria Bb", "Maria Cc"):
        ClientFactory(salon=salon, name=name)
    last = ClientFactory(salon=salon, name="Mathilda Zz", last_booked_at=now)
    ClientFactory(salon=salon, name="Peter Quill", last_booked_at=now)

    found = find_clients(salon=salon, text="ma")

    assert found[0] == last
    assert len(found) == 3
    assert find_clients(salon=salon, text="z m") == [last]


def test_two_words_find_who_has_both_however_many_have_one(
    salon: Salon, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(search, "_CAP", 2)
    for name in ("Maria Galle", "Maria Gabel", "Maria Gans", "García Malu", "García Mateo"):
        ClientFactory(salon=salon, name=name)
    wanted = ClientFactory(salon=salon, name="García María")

    assert find_clients(salon=salon, text="maria garcia") == [wanted]
    assert find_clients(salon=salon, text="garcai maria") == [wanted]  # with a slip


def test_nobody_of_another_salon_is_found(
    people: dict[str, Client], other_salon: Salon
) -> None:
    ClientFactory(salon=other_salon, name="Someone Else")

    assert [c.name for c in find_clients(salon=other_salon, text="s")] == ["Someone Else"]


def test_a_new_name_replaces_the_old_one(
    people: dict[str, Client], salon: Salon, receptionist: Staff, now: dt.datetime
) -> None:
    client = people["johnson"]

    services.change_client(
        client=client, expected_version=client.version, name="Peter Blackwood",
        by=receptionist, at=now,
    )  # fmt: skip

    assert find_clients(salon=salon, text="blackw") == [client]
    assert find_clients(salon=salon, text="johnson") == []
    assert not SearchVariant.objects.filter(word="johnson").exists()


def test_the_old_name_of_a_merged_entry_leads_to_the_one_that_stands(
    people: dict[str, Client], salon: Salon
) -> None:
    second = ClientFactory(salon=salon, name="Pete Jonson", merged_into=people["johnson"])

    found = find_clients(salon=salon, text="pete jon")

    assert second not in found
    assert found == [people["johnson"]]


def test_finding_costs_few_queries(
    people: dict[str, Client],
    salon: Salon,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    with django_assert_max_num_queries(5):
        find_clients(salon=salon, text="mar")
    with django_assert_max_num_queries(6):
        find_clients(salon=salon, text="jonhson")


def test_a_deleted_client_leaves_no_key(people: dict[str, Client]) -> None:
    pk = people["johnson"].pk

    people["johnson"].delete()

    assert not SearchKey.objects.filter(client=pk).exists()


def test_a_month_is_known_in_the_readers_language(
    people: dict[str, Client], salon: Salon
) -> None:
    with translation.override("de"):
        assert find_clients(salon=salon, text="oktober 1979") == []
        assert find_clients(salon=salon, text="februar 1990") == [people["mei"]]


@pytest.mark.parametrize("text", ["mae 1988", "johnson 0102", "31 february", "1979 december"])
def test_two_kinds_must_both_match(people: dict[str, Client], salon: Salon, text: str) -> None:
    assert find_clients(salon=salon, text=text) == []
