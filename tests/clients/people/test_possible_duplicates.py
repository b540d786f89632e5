"""Pairs that may be one person are kept as entries are written, whatever the order."""

import datetime as dt
import io
from importlib import import_module
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client as Browser

from clients import services
from clients.models import Client, ClientImport, PossibleDuplicate
from clients.people import duplicates, possible_duplicates
from clients.selectors import privacy
from salon.models import Salon, Staff
from tests.clients.people.test_import import LIST, take_in, upload
from tests.factories.clients import ClientFactory
from tests.factories.salon import SalonFactory
from tests.project.many_salons import Cost, counted
from tests.typed import SignIn

pytestmark = pytest.mark.usefixtures("clock")

PHONE = "+441174960101"
migration: Any = import_module("clients.migrations.0033_possible_duplicates")


@pytest.fixture
def three(salon: Salon) -> list[Client]:
    """Three with one phone: the first and the last are not next to each other."""
    return [
        ClientFactory(salon=salon, name=name, phone=PHONE, email=f"{name}@example.com")
        for name in ("Ada", "Bea", "Cy")
    ]


def _offered(salon: Salon) -> list[set[str]]:
    """Return the names of each pair asked about, the latest first; none is missing or wrong."""
    assert possible_duplicates.rebuild(salon=salon) == 0
    return [{p.first.name, p.second.name} for p in duplicates.to_review(salon=salon)]


def _change(client: Client, by: Staff, at: dt.datetime, **fields: Any) -> None:
    client.refresh_from_db()
    services.change_client(
        client=client, expected_version=client.version, by=by, at=at, **fields
    )


def test_who_is_between_two_leaves_and_comes_back(
    salon: Salon, three: list[Client], receptionist: Staff, now: dt.datetime
) -> None:
    _ada, bea, _cy = three
    assert _offered(salon) == [{"Bea", "Cy"}, {"Ada", "Bea"}]

    _change(bea, receptionist, now, phone="+441174960202")
    assert _offered(salon) == [{"Ada", "Cy"}]
    _change(bea, receptionist, now, phone=PHONE)
    assert {"Ada", "Bea"} in _offered(salon)
    assert {"Bea", "Cy"} in _offered(salon)


def test_a_merge_and_its_undoing(
    salon: Salon, three: list[Client], receptionist: Staff, now: dt.datetime
) -> None:
    ada, bea, _cy = three
    merge = services.merge_clients(kept=ada, merged=bea, by=receptionist, at=now)
    assert _offered(salon) == [{"Ada", "Cy"}]

    services.undo_merge(merge=merge, by=receptionist, at=now)
    assert {"Ada", "Bea"} in _offered(salon)


def test_a_settled_pair_is_offered_again_only_once_it_is_open_again(
    salon: Salon, three: list[Client], receptionist: Staff, now: dt.datetime
) -> None:
    ada, bea, cy = three
    act: dict[str, Any] = {"by": receptionist, "at": now}
    services.record_not_the_same(first=bea, second=ada, **act)
    assert _offered(salon) == [{"Bea", "Cy"}]
    services.join_household(client=cy, other=bea, **act)
    assert _offered(salon) == []

    _change(ada, receptionist, now, email="Bea@Example.com")  # they were told apart already
    assert _offered(salon) == []
    cy.refresh_from_db()
    services.leave_household(client=cy, **act)
    assert _offered(salon) == [{"Bea", "Cy"}]
    _change(cy, receptionist, now, phone="")
    assert _offered(salon) == []


def test_two_of_a_household_who_may_be_one_person_are_offered(
    salon: Salon, receptionist: Staff, now: dt.datetime
) -> None:
    first, second = (ClientFactory(salon=salon, name="Ada", phone=PHONE) for _ in range(2))

    services.join_household(client=first, other=second, by=receptionist, at=now)

    assert _offered(salon) == [{"Ada"}]


def test_who_is_erased_is_in_no_pair(
    salon: Salon, three: list[Client], owner: Staff, now: dt.datetime
) -> None:
    bea = three[1]
    services.request_erasure(client=bea, reason="in_writing", by=owner, at=now)
    services.erase_client(client=bea, by=owner, at=now + privacy.WAIT)

    assert _offered(salon) == [{"Ada", "Cy"}]
    assert PossibleDuplicate.objects.count() == 1


def test_a_list_taken_in_and_taken_back(
    salon: Salon, owner: Staff, client_for: SignIn, now: dt.datetime
) -> None:
    boss: Browser = client_for(owner)
    ClientFactory(salon=salon, name="Ada", email="NGOZI@example.com", birth_date=None)
    upload(boss, LIST)
    found = take_in(boss, ClientImport.objects.get())
    assert _offered(salon) == [{"Ada", "Ngozi Adichie"}]
    services.register_client(name="Cy", email="ngozi@EXAMPLE.com", phone="", by=owner, at=now)
    assert len(_offered(salon)) == 2

    boss.post(f"/clients/imports/{found.pk}/undo/")
    boss.post(f"/clients/imports/{found.pk}/go-on/")

    assert not Client.objects.filter(name="Ngozi Adichie").exists()
    assert _offered(salon) == [{"Ada", "Cy"}]


def test_the_migration_finds_the_same_pairs_as_the_writes(
    salon: Salon, three: list[Client], receptionist: Staff, now: dt.datetime
) -> None:
    act: dict[str, Any] = {"by": receptionist, "at": now}
    services.record_not_the_same(first=three[0], second=three[1], **act)
    ClientFactory(salon=salon, name="Zoë Ash", email="cY@example.com")
    ClientFactory(salon=salon, name="Zoe Ash")
    family = [ClientFactory(salon=salon, name=n, phone="+441174960303") for n in ("D", "E")]
    services.join_household(client=family[0], other=family[1], **act)
    for _ in range(2):  # of a salon that shares none of it
        ClientFactory(salon=SalonFactory(), name="Ada", phone=PHONE)
    rows = PossibleDuplicate.objects.order_by("first", "second")
    kept = list(rows.values_list("salon", "first", "second", "is_settled"))
    assert len(kept) == 5

    PossibleDuplicate.objects.all().delete()
    with connection.cursor() as cursor:
        cursor.execute(migration._FILL)

    assert list(rows.values_list("salon", "first", "second", "is_settled")) == kept


def test_a_pair_that_two_writers_missed_is_named_and_mended(
    salon: Salon, three: list[Client]
) -> None:
    PossibleDuplicate.objects.filter(first=three[0]).delete()
    PossibleDuplicate.objects.filter(first=three[1]).update(is_settled=True)

    with pytest.raises(CommandError, match="2 are missing or wrong"):
        call_command("check_duplicates", stdout=io.StringIO())
    assert duplicates.to_review(salon=salon) == []
    call_command("check_duplicates", rebuild=True, stdout=io.StringIO())
    call_command("check_duplicates", stdout=io.StringIO())

    assert len(_offered(salon)) == 2


def _add(salon: Salon, start: int, count: int) -> None:
    """Add clients who share a phone with the next; past the services, as the years would."""
    at = dt.datetime(2020, 1, 1, tzinfo=dt.UTC)
    new = Client.objects.bulk_create(
        Client(
            salon=salon, name=f"Guest {n}", search_name=f"guest {n}", registered_at=at,
            phone=f"+4411749{60000 + n // 2}", email=f"guest{n}@example.com",
        )
        for n in range(start, start + count)
    )  # fmt: skip
    possible_duplicates.refresh(client.pk for client in new)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def _looked_for(salon: Salon) -> Cost:
    with counted() as cost:
        duplicates.to_review(salon=salon)
        duplicates.like(
            salon=salon, name="Guest 7", phone="+441174960002", email="GUEST9@example.com"
        )
    return cost


def test_neither_the_list_nor_the_look_at_entry_reads_more_of_a_larger_register(
    salon: Salon,
) -> None:
    """Counted, not timed: what the database looks at is the same for ten times the rows."""
    _add(salon, 0, 200)
    few = _looked_for(salon)
    _add(salon, 200, 1800)

    many = _looked_for(salon)

    assert few.total > 0
    assert len(many.sent) == len(few.sent) == 4
    assert many.total <= few.total * 1.5, many.grown(few)
