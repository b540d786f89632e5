"""Who looked: each page of a client's records leaves a note, and only those."""

import datetime as dt

import pytest
import time_machine
from django.urls import resolve, reverse
from django.utils import timezone

from clients.models import AccessKind, RecordAccess
from consult.screens.record_access import LOOKUPS
from salon.models import Salon, Staff
from tests.every_page import routes
from tests.factories.clients import ClientFactory
from tests.factories.consult import Story
from tests.project.role_table import OPEN
from tests.project.test_roles import _address
from tests.typed import SignIn

# No look at a client: an imported list, a file of one booking, a part of a page that is noted
# itself, and what the client sees.
LEFT_OUT = {
    "clients:import", "clients:import_report", "clients:confirm_merge",
    "clients:calendar_file", "clients:small_photo", "consult:received_photo",
    "consult:client_choice", "consult:client_sign", "consult:client_done",
}  # fmt: skip


def _about_clients() -> dict[str, str]:
    """Return the routes whose address begins with a client's record, and what each shows."""
    return {
        name: getattr(resolve(_address(name)).func, "shows", "")
        for name, route, arguments in routes()
        if arguments and route.split("/")[0] in LOOKUPS and name not in OPEN
    }


def test_every_page_of_a_record_says_what_it_shows(client_for: SignIn, owner: Staff) -> None:
    """What is only posted to shows nothing; the few others are left out by name."""
    browser = client_for(owner)
    silent = {name for name, shows in _about_clients().items() if not shows}

    pages = {name for name in silent if browser.get(_address(name)).status_code != 405}
    assert pages == LEFT_OUT


def test_what_is_shown_can_be_traced_to_its_client() -> None:
    """A view that shows records has an address from which the client can be found."""
    showing = {
        name: route.split("/")[0]
        for name, route, _arguments in routes()
        if getattr(resolve(_address(name)).func, "shows", "")
    }
    assert {name: start for name, start in showing.items() if start not in LOOKUPS} == {}


def test_a_look_is_noted_once_in_ten_minutes(story: Story, client_for: SignIn) -> None:
    browser, client = client_for(story.by), story.visit.client
    pages = [
        reverse("clients:detail", args=[client.pk]),
        reverse("clients:care", args=[client.pk]),
        reverse("clients:appointment", args=[story.visit.appointment_id]),
        reverse("consult:visit", args=[story.visit.pk]),
        reverse("consult:safety", args=[story.visit.pk]),
        reverse("consult:tones", args=[client.pk]),
    ]
    for page in pages * 2:
        assert browser.get(page).status_code == 200

    noted = RecordAccess.objects.order_by("pk").values_list("kind", "target", "client_id")
    assert list(noted) == [
        ("client", "clients", client.pk),
        ("health", "clients", client.pk),
        ("client", "appointments", client.pk),
        ("visit", "visits", client.pk),
        ("visit", "clients", client.pk),
    ]
    assert {row.staff for row in RecordAccess.objects.all()} == {story.by}
    with time_machine.travel(timezone.now() + dt.timedelta(minutes=11)):
        browser.get(pages[0])
    assert RecordAccess.objects.count() == 6


def test_what_was_not_shown_is_no_look(
    salon: Salon, other_salon: Salon, receptionist: Staff, client_for: SignIn
) -> None:
    browser = client_for(receptionist)
    elsewhere = ClientFactory(salon=other_salon)
    mine = ClientFactory(salon=salon)
    assert browser.get(reverse("clients:detail", args=[elsewhere.pk])).status_code == 404
    assert browser.get(reverse("clients:photo_history", args=[mine.pk])).status_code == 403
    browser.post(reverse("clients:safety", args=[mine.pk]), {})
    browser.get(reverse("clients:find"))

    assert not RecordAccess.objects.exists()


def test_an_owner_filters_and_takes_it_along(
    salon: Salon, owner: Staff, receptionist: Staff, client_for: SignIn
) -> None:
    ada, berta = (ClientFactory(salon=salon, name=name) for name in ("=Ada", "Berta"))
    desk, browser = client_for(receptionist), client_for(owner)
    desk.get(reverse("clients:detail", args=[ada.pk]))
    desk.get(reverse("clients:safety", args=[berta.pk]))
    browser.post(reverse("clients:export_csv"))
    address = reverse("clients:who_looked")
    today = timezone.localdate(timezone=salon.zone).isoformat()

    def rows(**wanted: str) -> int:
        answer = browser.get(address, wanted)
        assert answer.status_code == 200
        return answer.text.count('scope="row"')

    assert rows() == 3
    assert rows(staff=str(receptionist.pk)) == 2
    assert rows(kind=AccessKind.EXPORT) == 1
    assert rows(client="bert") == 1
    assert rows(first=today, last=today) == 3
    assert rows(first="2999-12-31") == 0
    assert browser.get(address, {"first": "9999-12-31"}).status_code == 422
    assert browser.get(address, {"staff": "x"}).status_code == 422
    lines = browser.post(address).content.decode("utf-8-sig").splitlines()
    assert lines[0] == "When,Who,Whose,What"
    assert any("'=Ada" in line for line in lines)  # a spreadsheet takes it for text
    assert len(lines) == 4


def test_the_table_cannot_be_changed(
    story: Story, append_only_triggers: None, client_for: SignIn
) -> None:
    from django.db import IntegrityError, connection, transaction

    client_for(story.by).get(reverse("consult:visit", args=[story.visit.pk]))
    table = RecordAccess._meta.db_table
    with (
        pytest.raises(IntegrityError, match="append-only"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(f"DELETE FROM {table}")  # noqa: S608
