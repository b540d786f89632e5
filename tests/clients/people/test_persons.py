"""One person with two entries: found, merged with nothing lost, made two again."""

import datetime as dt
from collections.abc import Callable

import pytest
from django.core.exceptions import PermissionDenied
from django.test import Client as Browser

from clients import selectors
from clients.models import AlertKind, Client, ClientMerge, Household, ReadingOutcome, Service
from clients.people import duplicates
from clients.services import (
    MergeRefused,
    join_household,
    leave_household,
    merge_clients,
    raise_alert,
    record_not_the_same,
    undo_merge,
)
from clients.skin_test.gate import colour_gate
from formulas.models import ProductLine
from salon.models import Salon, Staff
from tests.clients.conftest import at_clock
from tests.factories.clients import (
    AppointmentFactory,
    ClientFactory,
    PatchTestFactory,
    ReadingFactory,
)
from tests.typed import Query

DAY = dt.timedelta(days=1)


pytestmark = pytest.mark.usefixtures("clock")


@pytest.fixture
def second(salon: Salon) -> Client:
    return ClientFactory(salon=salon, name="Ngozi A.")


@pytest.fixture
def merge(
    person: Client, second: Client, receptionist: Staff, now: dt.datetime
) -> Callable[[], ClientMerge]:
    def merge() -> ClientMerge:
        return merge_clients(kept=person, merged=second, by=receptionist, at=now)

    return merge


def test_nothing_is_lost_by_a_merge(
    *, person: Client, second: Client, line: ProductLine, stylist: Staff, owner: Staff
) -> None:
    now = at_clock(10)
    past = AppointmentFactory(client=second, starts_at=now - 9 * DAY)
    raise_alert(client=second, kind=AlertKind.ALLERGY, text="Latex", by=stylist, at=now)
    test = PatchTestFactory(client=second, line=line, applied_at=now - 5 * DAY)
    ReadingFactory(test=test, outcome=ReadingOutcome.REACTION)

    merge_clients(kept=person, merged=second, by=owner, at=now)

    assert [alert.text for alert in selectors.alerts_in_force(client=person)] == ["Latex"]
    assert list(selectors.patch_history(client=person)) == [test]
    assert "reacted" in [r.code for r in colour_gate(client=person, line=line, at=now).reasons]
    past.refresh_from_db()
    assert past.client == second  # what happened is not rewritten
    assert any(past.service.name in e.what for e in selectors.client_timeline(client=person))


def test_what_is_booked_ahead_moves_over_and_back(
    merge: Callable[[], ClientMerge],
    person: Client,
    second: Client,
    receptionist: Staff,
    now: dt.datetime,
) -> None:
    ahead = AppointmentFactory(client=second, starts_at=now + DAY)

    done = merge()
    ahead.refresh_from_db()
    assert ahead.client == person
    undo_merge(merge=done, by=receptionist, at=now)

    ahead.refresh_from_db()
    second.refresh_from_db()
    assert ahead.client == second
    assert second.merged_into is None


def test_entries_merged_before_follow_and_return(
    merge: Callable[[], ClientMerge],
    second: Client,
    person: Client,
    receptionist: Staff,
    now: dt.datetime,
) -> None:
    third = ClientFactory(salon=person.salon, merged_into=second)

    done = merge()
    third.refresh_from_db()
    assert third.merged_into == person
    undo_merge(merge=done, by=receptionist, at=now)

    third.refresh_from_db()
    assert third.merged_into == second


def test_a_merge_is_made_and_undone_once(
    merge: Callable[[], ClientMerge], receptionist: Staff, now: dt.datetime
) -> None:
    done = merge()

    with pytest.raises(MergeRefused, match="already been merged"):
        merge()
    undo_merge(merge=done, by=receptionist, at=now)
    with pytest.raises(MergeRefused, match="already been undone"):
        undo_merge(merge=done, by=receptionist, at=now)


def test_a_merge_below_a_later_one_is_not_undone_first(
    merge: Callable[[], ClientMerge],
    person: Client,
    salon: Salon,
    receptionist: Staff,
    now: dt.datetime,
) -> None:
    first = merge()
    merge_clients(kept=ClientFactory(salon=salon), merged=person, by=receptionist, at=now)

    with pytest.raises(MergeRefused, match="Undo that merge first"):
        undo_merge(merge=first, by=receptionist, at=now)


def test_nobody_is_merged_with_themselves_or_across_salons(
    person: Client, other_salon: Salon, receptionist: Staff, now: dt.datetime
) -> None:
    with pytest.raises(MergeRefused, match="two different"):
        merge_clients(kept=person, merged=person, by=receptionist, at=now)
    with pytest.raises(PermissionDenied):
        merge_clients(
            kept=person, merged=ClientFactory(salon=other_salon), by=receptionist, at=now
        )


def test_the_list_shows_who_shares_a_phone_an_address_or_name_and_birth_date(
    salon: Salon,
) -> None:
    same = {"salon": salon}
    phone = [ClientFactory(phone="+441174960101", **same) for _ in range(2)]
    mail = [ClientFactory(email="a@example.com", birth_date=None, **same) for _ in range(2)]
    name = [ClientFactory(name=n, **same) for n in ("Zoë Ash", "zoe ash")]
    ClientFactory(name="Zoe Ash", birth_date=dt.date(1990, 1, 1), **same)

    pairs = [{p.first, p.second} for p in duplicates.to_review(salon=salon)]

    assert pairs == [set(name), set(mail), set(phone)]  # the latest first


def test_two_people_are_not_asked_about_again(
    salon: Salon, receptionist: Staff, now: dt.datetime
) -> None:
    a, b = (ClientFactory(salon=salon, phone="+441174960101") for _ in range(2))

    record_not_the_same(first=b, second=a, by=receptionist, at=now)
    record_not_the_same(first=a, second=b, by=receptionist, at=now)

    assert duplicates.to_review(salon=salon) == []


def test_the_pages_merge_undo_and_tell_apart(
    desk: Browser, person: Client, second: Client
) -> None:
    desk.post("/clients/merge/", {"kept": person.pk, "merged": second.pk})
    response = desk.get(f"/clients/{second.pk}/")
    assert response.headers["Location"] == f"/clients/{person.pk}/"
    assert "Ngozi A." in desk.get("/clients/duplicates/").text

    desk.post(f"/clients/merge/{ClientMerge.objects.get().pk}/undo/")
    assert desk.get(f"/clients/{second.pk}/").status_code == 200

    desk.post("/clients/not-the-same/", {"kept": person.pk, "merged": second.pk})
    assert desk.post("/clients/merge/", {"kept": "x", "merged": ""}).status_code == 404


def test_bookings_for_a_merged_entry_are_made_for_the_person(
    merge: Callable[[], ClientMerge],
    desk: Browser,
    second: Client,
    cut: Service,
    stylist: Staff,
) -> None:
    client = merge().kept

    desk.post(
        "/appointments/new/",
        {"client": second.pk, "service": cut.pk, "stylist": stylist.pk,
         "day": "2026-03-12", "time": "15:00"},
    )  # fmt: skip

    assert client.appointments.count() == 1


def test_households_join_and_dissolve(
    person: Client, second: Client, salon: Salon, receptionist: Staff, now: dt.datetime
) -> None:
    third, fourth = (ClientFactory(salon=salon) for _ in range(2))
    join_household(client=second, other=person, by=receptionist, at=now)
    join_household(client=fourth, other=third, by=receptionist, at=now)

    person.refresh_from_db()
    fourth.refresh_from_db()
    join_household(client=fourth, other=person, by=receptionist, at=now)
    person.refresh_from_db()
    assert len(selectors.household_of(person)) == 3
    assert Household.objects.count() == 1

    for one in (third, fourth, second):
        one.refresh_from_db()
        leave_household(client=one, by=receptionist, at=now)
    person.refresh_from_db()
    assert person.household is None
    assert not Household.objects.exists()


def test_a_household_is_joined_on_the_page(
    desk: Browser, person: Client, second: Client
) -> None:
    desk.post(f"/clients/{person.pk}/household/join/", {"other": second.pk})
    assert "Ngozi A." in desk.get(f"/clients/{person.pk}/care/").text

    desk.post(f"/clients/{person.pk}/household/leave/")
    assert not Household.objects.exists()
    assert desk.post(f"/clients/{person.pk}/household/join/", {"other": "x"}).status_code == 404


def test_a_household_is_joined_by_finding_the_person(
    person: Client, second: Client, desk: Browser
) -> None:
    """Nobody has to know a number: what is typed finds people, each with a Join beside them."""
    looked_for: Query = {"q": second.name.split()[0], "join": person.pk, "place": "to-join"}

    found = desk.get("/clients/", looked_for, headers={"HX-Request": "true"}).content.decode()
    desk.post(f"/clients/{person.pk}/household/join/", {"other": second.pk})

    assert f'name="other" value="{second.pk}"' in found
    assert f'name="other" value="{person.pk}"' not in found
    person.refresh_from_db()
    assert selectors.household_of(person) == [second]
