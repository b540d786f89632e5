"""A reminder waits where it cannot have left, and is left to the desk where it may have."""

import datetime as dt
from typing import Any

import pytest
from django.core import mail

from clients.messages.channels import EmailChannel
from clients.models import Reminder, ReminderStatus, Service
from clients.services import queue_reminders, send_reminders
from salon.mailing.smtp import PerhapsSent
from salon.models import Salon
from tests.clients.conftest import TODAY, at_clock
from tests.factories.clients import AppointmentFactory, ClientFactory

DAY, HOUR = dt.timedelta(days=1), dt.timedelta(hours=1)


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
