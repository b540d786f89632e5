"""A client ends reminders by the link in the mail.

Outside sources: RFC 2369 (section 3.2, List-Unsubscribe: an address in angle brackets) and
RFC 8058 (section 3.1: List-Unsubscribe-Post holds "List-Unsubscribe=One-Click", the address is
HTTPS; section 3.2: the POST comes without cookies, and the answer is no redirect).
"""

import datetime as dt
import re
from collections import Counter
from collections.abc import Callable

import pytest
from django.core import mail
from django.db import IntegrityError, transaction
from django.test import Client as Browser
from pytest_django import Settings

from clients.messages import opt_out
from clients.messages.channels import EmailChannel
from clients.models import Client, Consent, ConsentKind, ContactBy, Service
from clients.services import (
    queue_reminders,
    record_consent,
    send_reminders,
    stop_reminders,
)
from formulas.models import ProductLine
from salon.models import AuditEvent, Salon, Staff
from tests.clients.conftest import at_clock
from tests.factories.clients import AppointmentFactory, ClientFactory, PatchTestFactory
from tests.typed import SignIn

DAY, HOUR = dt.timedelta(days=1), dt.timedelta(hours=1)
ONE_CLICK = {"List-Unsubscribe": "One-Click"}


@pytest.fixture
def guest(salon: Salon) -> Client:
    return ClientFactory(salon=salon, name="Ngozi Adichie", email="ngozi@example.com")


@pytest.fixture
def address(guest: Client) -> str:
    return f"/stop-reminders/{opt_out.token_of(guest)}/"


@pytest.fixture
def run(salon: Salon, guest: Client, cut: Service) -> Callable[[dt.datetime], Counter[str]]:
    """Return a function that books a new appointment for the next day and reminds of it."""

    def run(at: dt.datetime) -> Counter[str]:
        AppointmentFactory(
            client=guest, service=cut, starts_at=at_clock(15, day=at.date() + DAY)
        )
        queue_reminders(salon=salon, at=at)
        return send_reminders(salon=salon, at=at, channel=EmailChannel())

    return run


def test_a_mail_carries_the_link_and_both_headers(
    run: Callable[[dt.datetime], Counter[str]],
    now: dt.datetime,
    address: str,
    settings: Settings,
) -> None:
    settings.SITE_URL = "https://salon.example.com/"

    run(now)

    message = mail.outbox[0].message()
    whole = f"https://salon.example.com{address}"
    assert message["List-Unsubscribe"] == f"<{whole}>"
    assert message["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert whole in mail.outbox[0].body.split()


def test_the_mail_says_it_in_the_clients_language(
    run: Callable[[dt.datetime], Counter[str]], now: dt.datetime, guest: Client
) -> None:
    guest.language = "de"
    guest.save()

    run(now)

    assert f"Keine Erinnerungen mehr: {opt_out.address_of(guest)}" in mail.outbox[0].body


def test_following_the_link_only_asks_and_names_nobody(
    address: str, guest: Client, salon: Salon
) -> None:
    answer = Browser().get(address)

    page = answer.content.decode()
    assert answer.status_code == 200
    assert salon.name in page
    assert "reminds me of appointments and tests" in page
    assert guest.name not in page
    assert guest.email not in page
    assert answer["Referrer-Policy"] == "no-referrer"
    assert "no-store" in answer["Cache-Control"]
    assert not Consent.objects.exists()


@pytest.mark.parametrize("body", [{}, ONE_CLICK])
def test_the_button_or_one_click_ends_them_without_a_login(
    run: Callable[[dt.datetime], Counter[str]],
    now: dt.datetime,
    address: str,
    guest: Client,
    body: dict[str, str],
) -> None:
    answer = Browser(enforce_csrf_checks=True).post(address, body)

    assert answer.status_code == 200  # no redirect
    consent = Consent.objects.get()
    assert (consent.client, consent.kind) == (guest, ConsentKind.REMINDERS)
    assert not consent.is_given
    assert consent.recorded_by is None
    assert run(now) == {"dropped": 1}
    assert mail.outbox == []


def test_word_about_a_skin_test_goes_on_and_the_page_says_so(
    address: str, guest: Client, salon: Salon, line: ProductLine, now: dt.datetime
) -> None:
    """A late reaction may come a week after the test (common practice, no source)."""
    asked = Browser().get(address).text
    assert "does not stop messages about a skin test" in asked
    done = Browser().post(address, ONE_CLICK).text
    assert "we still write to you about it" in done
    PatchTestFactory(client=guest, line=line, applied_at=now - 49 * HOUR)

    queue_reminders(salon=salon, at=now)
    outcomes = send_reminders(salon=salon, at=now, channel=EmailChannel())

    assert outcomes == {"sent": 1}
    (sent,) = mail.outbox
    assert "see a doctor or pharmacist" in sent.body
    # It cannot be ended by that link, so it offers none.
    assert opt_out.address_of(guest) not in sent.body
    assert not [name for name in sent.extra_headers if name.startswith("List-")]


def test_who_wants_no_messages_at_all_gets_none_about_a_test_either(
    guest: Client, salon: Salon, line: ProductLine, now: dt.datetime
) -> None:
    guest.contact_by = ContactBy.NOTHING
    guest.save()
    PatchTestFactory(client=guest, line=line, applied_at=now - 49 * HOUR)

    queue_reminders(salon=salon, at=now)

    assert send_reminders(salon=salon, at=now, channel=EmailChannel()) == {"dropped": 1}
    assert mail.outbox == []


def test_the_form_on_the_page_carries_its_token(address: str) -> None:
    page = Browser().get(address).content.decode()

    assert re.search(
        r'<form method="post">\s*<input type="hidden" name="csrfmiddlewaretoken', page
    )


def test_twice_is_as_good_as_once(address: str) -> None:
    Browser().post(address, ONE_CLICK)
    answer = Browser().post(address, ONE_CLICK)

    assert answer.status_code == 200
    assert Consent.objects.count() == 1
    event = AuditEvent.objects.get(kind="consent recorded")
    assert event.actor_id is None


def test_a_new_consent_at_the_desk_begins_them_again(
    run: Callable[[dt.datetime], Counter[str]],
    now: dt.datetime,
    guest: Client,
    receptionist: Staff,
) -> None:
    stop_reminders(client=guest, at=now - DAY)
    record_consent(
        client=guest, kind=ConsentKind.REMINDERS, wording="-", is_given=True, by=receptionist,
        at=now,
    )  # fmt: skip

    assert run(now) == {"sent": 1}


def test_a_second_entry_of_the_person_is_ended_too(
    salon: Salon, guest: Client, run: Callable[[dt.datetime], Counter[str]], now: dt.datetime
) -> None:
    second = ClientFactory(salon=salon, name="N. Adichie", merged_into=guest)

    Browser().post(f"/stop-reminders/{opt_out.token_of(second)}/", ONE_CLICK)

    assert run(now) == {"dropped": 1}


@pytest.mark.parametrize("token", ["x", "1", "1:x", "²:x", "0" * 400])
def test_a_broken_link_says_so_and_changes_nothing(db: None, token: str) -> None:
    for answer in (Browser().get, Browser().post):
        shown = answer(f"/stop-reminders/{token}/")

        assert shown.status_code == 404
        assert "This link does not work" in shown.content.decode()
    assert not Consent.objects.exists()


def test_another_clients_number_does_not_fit_the_signature(salon: Salon, guest: Client) -> None:
    other = ClientFactory(salon=salon)
    _number, proof = opt_out.token_of(guest).split(":")

    assert Browser().post(f"/stop-reminders/{other.pk}:{proof}/").status_code == 404


def test_the_register_shows_that_the_client_did_it(
    client_for: SignIn, receptionist: Staff, guest: Client, now: dt.datetime
) -> None:
    stop_reminders(client=guest, at=now)

    page = client_for(receptionist).get(f"/clients/{guest.pk}/care/").content.decode()

    assert "at the client's request" in page


def test_the_database_wants_a_person_beside_every_other_consent(
    guest: Client, now: dt.datetime
) -> None:
    for kind, is_given in ((ConsentKind.REMINDERS, True), (ConsentKind.PHOTOS, False)):
        with pytest.raises(IntegrityError), transaction.atomic():
            Consent.objects.create(
                client=guest, kind=kind, is_given=is_given, wording="-", recorded_at=now
            )
