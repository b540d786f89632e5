"""Reminders by a real server that asks to come back later.

The meaning of the replies: RFC 5321, 4.2.1 (450, this mailbox for now) and 3.8 (421, the whole
server for now).
"""

import datetime as dt
import email
import email.policy

import pytest
from pytest_django import Settings

from clients.messages.channels import EmailChannel
from clients.models import Reminder, ReminderStatus
from clients.services import queue_reminders, send_reminders
from salon.models import Salon
from tests.factories.clients import AppointmentFactory, ClientFactory, ToneFactory
from tests.salon.mailing.server import MailServer


@pytest.fixture
def noon(salon: Salon, now: dt.datetime) -> dt.datetime:
    """The salon's next noon: outside of its quiet hours, whenever the test runs."""
    local = now.astimezone(salon.zone) + dt.timedelta(days=1)
    return local.replace(hour=12, minute=0, second=0)


@pytest.fixture
def queued(salon: Salon, noon: dt.datetime) -> Reminder:
    AppointmentFactory(
        client=ClientFactory(salon=salon, email="ngozi@example.com"),
        service=ToneFactory(salon=salon, is_colour=False),
        starts_at=noon + dt.timedelta(days=1),
    )
    queue_reminders(salon=salon, at=noon)
    return Reminder.objects.get()


@pytest.mark.parametrize(
    ("step", "answer", "why"),
    [
        ("RCPT", "450 4.2.1 Come back later", "the mail server asks to try this address"),
        ("RCPT", "421 4.3.2 Closing down", "the mail server asks to try again later"),
        ("MAIL", "421 4.3.2 Closing down", "the mail server asks to try again later"),
        ("DATA", "451 4.3.0 No room", "the mail server asks to try again later"),
    ],
)
def test_a_refusal_for_now_is_tried_again_and_leaves_once(
    *,
    server: MailServer,
    by_smtp: Settings,
    queued: Reminder,
    salon: Salon,
    noon: dt.datetime,
    step: str,
    answer: str,
    why: str,
) -> None:
    server.at[step] = answer

    assert send_reminders(salon=salon, at=noon, channel=EmailChannel()) == {"queued": 1}

    queued.refresh_from_db()
    assert queued.status == ReminderStatus.QUEUED
    assert queued.why.startswith(why)
    assert queued.next_try_at is not None
    server.at.clear()
    assert send_reminders(salon=salon, at=queued.next_try_at, channel=EmailChannel()) == {
        "sent": 1
    }
    (taken,) = server.taken
    assert isinstance(taken.content, bytes)
    message = email.message_from_bytes(taken.content, policy=email.policy.default)
    assert message["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert message["Message-ID"].endswith("@salon.example>")


def test_a_refusal_for_good_is_left_to_the_desk(
    server: MailServer, queued: Reminder, salon: Salon, noon: dt.datetime
) -> None:
    server.at["RCPT"] = "550 5.1.1 No such user"

    assert send_reminders(salon=salon, at=noon, channel=EmailChannel()) == {"failed": 1}
    assert server.taken == []
