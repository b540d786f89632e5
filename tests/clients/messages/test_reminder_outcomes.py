"""A reminder waits where it cannot have left, and is left to the desk where it may have."""

import datetime as dt
from smtplib import SMTPRecipientsRefused
from typing import Any

import pytest
import time_machine
from django.core import mail

from clients.messages.channels import EmailChannel
from clients.models import Reminder, ReminderStatus, Service
from clients.services import queue_reminders, send_reminders
from salon.mailing.smtp import PerhapsSent
from salon.mailing.status import mail_status
from salon.models import Salon, Staff
from tests.clients.conftest import TODAY, at_clock
from tests.factories.clients import AppointmentFactory, ChairFactory, ClientFactory
from tests.factories.salon import StaffFactory
from tests.typed import SignIn

DAY, HOUR = dt.timedelta(days=1), dt.timedelta(hours=1)
MINUTE = dt.timedelta(minutes=1)
NOT_YET = SMTPRecipientsRefused({"guest": (450, b"4.2.1")})


@pytest.fixture
def queued(salon: Salon, cut: Service, now: dt.datetime) -> Reminder:
    """A reminder of tomorrow."""
    guest = ClientFactory(salon=salon, email="ngozi@example.com")
    AppointmentFactory(client=guest, service=cut, starts_at=at_clock(15, day=TODAY + DAY))
    queue_reminders(salon=salon, at=now)
    return Reminder.objects.get()


def _send(salon: Salon, at: dt.datetime, error: Exception | None = None) -> dict[str, int]:
    class Failing(EmailChannel):
        def send(self, **message: Any) -> None:
            if error:
                raise error
            super().send(**message)

    return dict(send_reminders(salon=salon, at=at, channel=Failing()))


def test_while_the_server_is_away_it_waits(
    queued: Reminder, salon: Salon, now: dt.datetime
) -> None:
    assert _send(salon, now, ConnectionRefusedError()) == {"queued": 1}
    assert _send(salon, now + HOUR) == {"sent": 1}


def _another(salon: Salon, cut: Service, now: dt.datetime) -> Reminder:
    """Queue a further client's reminder, due after the first."""
    AppointmentFactory(
        client=ClientFactory(salon=salon, email="wang@example.com"),
        service=cut,
        stylist=StaffFactory(salon=salon, has_column=True),
        chair=ChairFactory(salon=salon),
        starts_at=at_clock(16, day=TODAY + DAY),
    )
    queue_reminders(salon=salon, at=now)
    return Reminder.objects.latest("pk")


def test_pauses_grow_between_tries(queued: Reminder, salon: Salon, now: dt.datetime) -> None:
    at, pauses = now, []
    for _try in range(5):
        assert _send(salon, at, NOT_YET) == {"queued": 1}
        queued.refresh_from_db()
        assert queued.next_try_at is not None
        pauses.append((queued.next_try_at - at) // MINUTE)
        assert _send(salon, queued.next_try_at - MINUTE) == {}
        at = queued.next_try_at

    assert pauses == [1, 5, 15, 60, 240]
    assert queued.why == "the mail server asks to try this address again later"
    assert _send(salon, at) == {"sent": 1}
    queued.refresh_from_db()
    assert queued.why == ""


def test_an_address_that_has_to_wait_keeps_nobody_else_waiting(
    queued: Reminder, salon: Salon, cut: Service, now: dt.datetime
) -> None:
    _another(salon, cut, now)

    class OneHasToWait(EmailChannel):
        def send(self, **message: Any) -> None:
            if message["client"] == queued.client:
                raise NOT_YET
            super().send(**message)

    assert send_reminders(salon=salon, at=now, channel=OneHasToWait()) == {
        "queued": 1,
        "sent": 1,
    }
    assert [sent.to for sent in mail.outbox] == [["wang@example.com"]]


def test_a_server_that_is_away_is_tried_once_for_all_due_reminders(
    queued: Reminder, salon: Salon, cut: Service, now: dt.datetime
) -> None:
    other = _another(salon, cut, now)

    assert _send(salon, now, ConnectionRefusedError()) == {"queued": 1}

    other.refresh_from_db()
    assert other.next_try_at == now + MINUTE
    assert other.why == "the mail server cannot be reached"
    assert _send(salon, now) == {}
    assert _send(salon, now + MINUTE) == {"sent": 2}


def test_one_that_never_left_in_time_is_shown_with_the_reason(
    queued: Reminder, salon: Salon, now: dt.datetime
) -> None:
    _send(salon, now, NOT_YET)

    outcomes = _send(salon, at_clock(16, day=TODAY + DAY))

    queued.refresh_from_db()
    assert (outcomes, queued.status) == ({"failed": 1}, ReminderStatus.FAILED)
    assert queued.why == "the mail server asks to try this address again later"


def test_an_address_that_no_mail_can_carry_stops_no_other(
    queued: Reminder, salon: Salon, now: dt.datetime
) -> None:
    assert _send(salon, now, ValueError("not ASCII")) == {"failed": 1}


def test_the_desk_and_the_owner_read_why_one_waits(
    *,
    queued: Reminder,
    salon: Salon,
    now: dt.datetime,
    client_for: SignIn,
    owner: Staff,
    receptionist: Staff,
) -> None:
    _send(salon, now, NOT_YET)

    with time_machine.travel(now, tick=False):
        desk = client_for(receptionist).get("/reminders/").text
        found = client_for(owner).get("/salon/work/").text

    words = "the mail server asks to try this address again later"
    assert f"Not sent yet: {words}. Next try:" in desk
    assert "1 waits." in found
    assert words in found


def test_what_has_left_failed_and_is_in_doubt_counts_on_the_owners_page(
    queued: Reminder, salon: Salon, cut: Service, now: dt.datetime
) -> None:
    _send(salon, now)
    _another(salon, cut, now)
    _send(salon, now + HOUR, PerhapsSent("dropped"))

    with time_machine.travel(now + 2 * HOUR, tick=False):
        found = mail_status(salon=salon)
    assert (found.last_sent_at, found.waiting, found.perhaps) == (now, 0, 1)

    Reminder.objects.filter(status=ReminderStatus.SENDING).update(
        status=ReminderStatus.FAILED, why="the mail server does not take this mail"
    )
    with time_machine.travel(now + 2 * HOUR, tick=False):
        found = mail_status(salon=salon)
    assert found.refused == [("the mail server does not take this mail", 1)]


def test_what_broke_off_after_the_text_is_left_to_the_desk(
    queued: Reminder, salon: Salon, now: dt.datetime
) -> None:
    assert _send(salon, now, PerhapsSent("dropped")) == {"sending": 1}
    assert _send(salon, now + HOUR) == {}
    queued.refresh_from_db()
    assert queued.status == ReminderStatus.SENDING


def test_it_comes_in_the_salons_name_and_says_that_a_program_wrote_it(
    queued: Reminder, salon: Salon, now: dt.datetime
) -> None:
    """RFC 3834, section 5: Auto-Submitted."""
    salon.email = "hello@corner.example"
    salon.save()

    _send(salon, now)

    (sent,) = mail.outbox
    assert sent.extra_headers["Auto-Submitted"] == "auto-generated"
    assert sent.reply_to == ["hello@corner.example"]
    assert salon.name in sent.from_email
    assert ".invalid" not in sent.extra_headers["Message-ID"]
