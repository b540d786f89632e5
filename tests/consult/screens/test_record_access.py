"""Who looked: each page of a client's records leaves a note, and only those."""

import datetime as dt
import re

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone

from clients.models import AccessKind, RecordAccess
from consult.screens.record_access import KINDS, LOOKUPS
from salon.models import Salon, Staff
from tests.every_page import routes
from tests.factories.clients import ClientFactory
from tests.factories.consult import Story
from tests.project.role_table import OPEN, TABLE
from tests.typed import SignIn

# About one record, and no look at a client's: acts, parts of a form, other people's things.
LEFT_OUT = re.compile(
    r"^clients:(confirm|move|cancel|change|calendar_file|restore|mark|check_in|undo_check_in|"
    r"begin|finish|override|call|consent|add_history|join_household|leave_household|take_photo|"
    r"photo_consent|small_photo|remove_photo|delete_photos|import|import_go_on|stop_import|undo_import|"
    r"discard_import|import_report|confirm_merge|undo_merge)$"
    r"|^consult:(open|stop|take_back_step|hand_over|client_choice|client_sign|client_done|"
    r"leave_client_view|prediction|rescale|undo_end|why_early|leftover|start|end|check|react|"
    r"take_back_reaction|swap|slots|draft|drop_draft|here|mail_card|settle_mail)$"
)


def test_every_page_of_a_record_is_in_the_table_or_left_out() -> None:
    about_clients = {
        name
        for name, route, arguments in routes()
        if arguments and route.split("/")[0] in LOOKUPS and name not in OPEN
    }

    assert about_clients - set(KINDS) == {
        name for name in about_clients if LEFT_OUT.match(name)
    }
    assert set(KINDS) <= set(TABLE)


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
    lines = browser.get(address, {"csv": "1"}).text.splitlines()
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
