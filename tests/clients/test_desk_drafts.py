"""What is typed at the desk comes back as it was typed, to its own writer only."""

import datetime as dt
import json
import uuid

import pytest
import time_machine
from django.test import Client as Browser

from clients.models import Client, DeskDraft, Service
from salon.models import Salon, Staff
from tests.clients.conftest import at_clock
from tests.factories.salon import StaffFactory
from tests.typed import SignIn

pytestmark = pytest.mark.usefixtures("clock")

NEW = "/clients/new/?name=Zo"


def keep(browser: Browser, address: str, fields: dict[str, str], once: str = "") -> int:
    told = {"address": address, "fields_json": json.dumps(list(fields.items())), "once": once}
    return browser.post("/desk/draft/", told).status_code


def test_a_new_clients_form_comes_back_after_another_sign_in(
    desk: Browser, client_for: SignIn, receptionist: Staff
) -> None:
    assert keep(desk, NEW, {"name": "Zoë Groß", "phone": "0491 570 15"}) == 204
    desk.logout()

    page = client_for(receptionist).get(NEW).text

    assert "Zoë Groß" in page
    assert "0491 570 15" in page
    assert "What you typed at 10:00" in page


def test_a_booking_comes_back_with_its_service_note_and_ticks(
    desk: Browser, person: Client, cut: Service, stylist: Staff
) -> None:
    address = f"/appointments/new/?client={person.pk}&day=2026-03-12"
    typed = {
        "client": str(person.pk), "service": str(cut.pk), "line": "", "note": "by the window",
        "day": "2026-03-12", "time": "15:20", "stylist": str(stylist.pk), "has_deposit": "on",
    }  # fmt: skip
    keep(desk, address, typed)

    page = desk.get(address).text

    assert f'<option value="{cut.pk}" selected>' in page
    assert 'value="by the window"' in page
    assert 'value="15:20"' in page
    assert "What you typed at" not in desk.get(f"/appointments/new/?client={person.pk}").text


def test_a_refused_form_is_kept_by_its_answer_and_not_only_by_a_copy_on_its_way(
    desk: Browser, person: Client, cut: Service, stylist: Staff
) -> None:
    """A page's own copy may arrive after Back: what was refused is there all the same."""
    address = f"/appointments/new/?client={person.pk}&day=2026-03-12"
    typed = {"client": person.pk, "service": cut.pk, "note": "by the window", "time": "25:00",
             "day": "2026-03-12", "stylist": stylist.pk, "once": str(uuid.uuid4())}  # fmt: skip

    refused = desk.post(address, typed)

    assert refused.status_code == 422
    draft = DeskDraft.objects.get()
    assert draft.address == address
    assert "once" not in dict(draft.fields)
    assert 'value="by the window"' in desk.get(address).text

    desk.post("/clients/new/", {"name": "", "phone": "0491 570 15"})
    assert "0491 570 15" in desk.get("/clients/new/").text


def test_nobody_else_finds_it(desk: Browser, client_for: SignIn, salon: Salon) -> None:
    keep(desk, NEW, {"name": "Zoë Groß"})

    other = client_for(StaffFactory(salon=salon, role="receptionist"))

    assert "Zoë Groß" not in other.get(NEW).text


def test_saving_the_form_forgets_it_and_a_late_copy_too(desk: Browser) -> None:
    once = str(uuid.uuid4())
    keep(desk, NEW, {"name": "Zoë Groß"})

    desk.post(NEW, {"name": "Zoë Groß", "contact_by": "email", "once": once})
    keep(desk, NEW, {"name": "Zoë Groß"}, once)

    assert Client.objects.filter(name="Zoë Groß").count() == 1
    assert not DeskDraft.objects.exists()


def test_it_is_gone_after_a_day_or_when_it_is_not_wanted(
    desk: Browser, clock: time_machine.Traveller
) -> None:
    keep(desk, NEW, {"name": "Zoë Groß"})
    answer = desk.post("/desk/draft/drop/", {"address": NEW})
    assert answer["Location"] == NEW
    assert not DeskDraft.objects.exists()

    keep(desk, NEW, {"name": "Zoë Groß"})
    clock.move_to(at_clock(10) + dt.timedelta(hours=25))
    assert "Zoë Groß" not in desk.get(NEW).text
    keep(desk, "/clients/new/", {"name": "B"})
    assert DeskDraft.objects.count() == 1


@pytest.mark.parametrize(
    "told",
    [
        {"address": "https://elsewhere.example/", "fields_json": "[]"},
        {"address": "//elsewhere.example/", "fields_json": "[]"},
        {"address": "/clients/new/", "fields_json": "no"},
        {"address": "/clients/new/", "fields_json": '[["a"]]'},
        {"address": "/clients/new/", "fields_json": '[["a", "\\u0000"]]'},
        {"address": "/clients/new/", "fields_json": "[" * 9000},
    ],
)
def test_what_is_no_form_is_refused(desk: Browser, told: dict[str, str]) -> None:
    assert desk.post("/desk/draft/", told).status_code == 422
    assert desk.post("/desk/draft/drop/", told)["Location"] in {"/day/", "/clients/new/"}


def test_one_person_keeps_twenty_pages_at_most(desk: Browser) -> None:
    for n in range(25):
        keep(desk, f"/clients/new/?name={n}", {"name": str(n)})

    assert DeskDraft.objects.count() == 20
    assert not DeskDraft.objects.filter(address="/clients/new/?name=0").exists()


def test_a_name_of_more_than_120_letters_is_said_and_not_cut(desk: Browser) -> None:
    page = desk.get(f"/clients/new/?name={'a' * 201}").text
    assert "a" * 201 in page
    assert 'maxlength="120"' not in page

    answer = desk.post("/clients/new/", {"name": "a" * 201, "contact_by": "email"})

    assert answer.status_code == 422
    assert "at most 120 characters (it has 201)" in answer.text
