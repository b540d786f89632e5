"""Reminders: queued once, sent at most once, never in quiet hours, and never against a wish."""

import datetime as dt
from collections import Counter
from collections.abc import Callable
from smtplib import SMTPRecipientsRefused
from typing import Any

import pytest
import time_machine
from django.core import mail
from django.utils import translation

from clients.messages.channels import Channel, EmailChannel
from clients.models import (
    Appointment,
    Client,
    ConsentKind,
    ContactBy,
    Reminder,
    ReminderKind,
    ReminderStatus,
    Service,
    Status,
)
from clients.selectors.desk import is_quiet
from clients.services import (
    queue_reminders,
    record_consent,
    send_reminders,
    settle_reminder,
)
from formulas.models import ProductLine
from salon.models import Salon, Staff
from tests.clients.conftest import TODAY, at_clock
from tests.factories.clients import (
    AppointmentFactory,
    ClientFactory,
    PatchTestFactory,
    ReadingFactory,
)
from tests.typed import SignIn

NO_SUCH_USER = SMTPRecipientsRefused({"guest": (550, b"5.1.1")})
DAY = dt.timedelta(days=1)
HOUR = dt.timedelta(hours=1)

Run = Callable[..., Counter[str]]


@pytest.fixture
def guest(salon: Salon) -> Client:
    return ClientFactory(salon=salon, name="Ngozi Adichie", email="ngozi@example.com")


@pytest.fixture
def cut_tomorrow(guest: Client, cut: Service) -> Appointment:
    return AppointmentFactory(
        client=guest, service=cut, starts_at=at_clock(15, day=TODAY + DAY)
    )


@pytest.fixture
def run(salon: Salon) -> Run:
    """Return a function that queues and sends as the command does."""

    def run(at: dt.datetime, channel: Channel | None = None) -> Counter[str]:
        queue_reminders(salon=salon, at=at)
        return send_reminders(salon=salon, at=at, channel=channel or EmailChannel())

    return run


@pytest.mark.usefixtures("cut_tomorrow")
def test_an_appointment_is_announced_once_in_plain_words(run: Run, now: dt.datetime) -> None:
    assert run(now) == {"sent": 1}
    assert run(now + HOUR) == {}

    message = mail.outbox[0]
    assert message.to == ["ngozi@example.com"]
    assert message.subject == "Your appointment on Thursday 12 March, 15:00"
    assert "Dear Ngozi Adichie," in message.body
    assert Reminder.objects.get().status == ReminderStatus.SENT


def test_a_moved_appointment_is_announced_anew(
    run: Run, now: dt.datetime, cut_tomorrow: Appointment
) -> None:
    run(now)
    cut_tomorrow.starts_at += HOUR
    cut_tomorrow.ends_at += HOUR
    cut_tomorrow.save()

    run(now + HOUR)

    assert "16:00" in mail.outbox[1].subject


def test_what_was_cancelled_after_queueing_is_dropped(
    salon: Salon, now: dt.datetime, cut_tomorrow: Appointment
) -> None:
    queue_reminders(salon=salon, at=now)
    cut_tomorrow.status = Status.CANCELLED
    cut_tomorrow.save()

    outcomes = send_reminders(salon=salon, at=now, channel=EmailChannel())

    assert outcomes == {"dropped": 1}
    assert Reminder.objects.get().why == "no longer needed"
    assert mail.outbox == []


def test_far_appointments_are_not_announced_yet(
    run: Run, now: dt.datetime, guest: Client, cut: Service
) -> None:
    AppointmentFactory(client=guest, service=cut, starts_at=now + 5 * DAY)

    assert run(now) == {}
    assert not Reminder.objects.exists()


@pytest.mark.usefixtures("cut_tomorrow")
def test_nothing_leaves_in_quiet_hours_and_it_leaves_afterwards(run: Run) -> None:
    assert run(at_clock(21)) == {}
    assert run(at_clock(7, 59, day=TODAY + DAY)) == {}
    assert run(at_clock(8, day=TODAY + DAY)) == {"sent": 1}


@pytest.mark.parametrize(
    ("hour", "quiet"), [(19, False), (20, True), (23, True), (3, True), (8, False)]
)
def test_quiet_hours_run_over_midnight(salon: Salon, hour: int, quiet: bool) -> None:
    assert is_quiet(salon=salon, at=at_clock(hour)) is quiet


@pytest.mark.usefixtures("cut_tomorrow")
def test_who_wishes_no_messages_gets_none(run: Run, now: dt.datetime, guest: Client) -> None:
    guest.contact_by = ContactBy.NOTHING
    guest.save()

    assert run(now) == {"dropped": 1}
    assert Reminder.objects.get().why == "wants no messages"


@pytest.mark.usefixtures("cut_tomorrow")
def test_a_withdrawn_consent_stops_them(
    run: Run, now: dt.datetime, guest: Client, receptionist: Staff
) -> None:
    record_consent(
        client=guest, kind=ConsentKind.REMINDERS, wording="-", is_given=False, by=receptionist,
        at=now - DAY,
    )  # fmt: skip

    assert run(now) == {"dropped": 1}


@pytest.mark.usefixtures("cut_tomorrow")
def test_a_sender_killed_after_sending_never_sends_twice(run: Run, now: dt.datetime) -> None:
    class Killed(BaseException):
        """What a kill looks like from inside: nothing after it runs."""

    class DyingChannel(EmailChannel):
        def send(self, **message: Any) -> None:
            super().send(**message)
            raise Killed

    with pytest.raises(Killed):
        run(now, DyingChannel())
    assert run(now + HOUR) == {}

    assert len(mail.outbox) == 1
    assert Reminder.objects.get().status == ReminderStatus.SENDING


@pytest.mark.usefixtures("cut_tomorrow")
def test_a_reminder_left_between_is_shown_and_the_desk_decides(
    run: Run, now: dt.datetime, client_for: SignIn, receptionist: Staff
) -> None:
    run(now, _failing(NO_SUCH_USER))
    row = Reminder.objects.get()
    assert row.status == ReminderStatus.FAILED
    assert row.why == "the mail server says that this address takes no mail"

    with time_machine.travel(now + HOUR, tick=False):
        desk = client_for(receptionist)
        assert "May not have arrived" in desk.get("/reminders/").text
        desk.post(f"/reminders/{row.pk}/settle/", {"again": "1"})
    assert run(now + HOUR) == {"sent": 1}


def _failing(error: Exception) -> EmailChannel:
    class Failing(EmailChannel):
        def send(self, **message: Any) -> None:
            raise error

    return Failing()


@pytest.mark.usefixtures("cut_tomorrow")
def test_what_is_settled_is_settled_once(
    run: Run, now: dt.datetime, receptionist: Staff
) -> None:
    from clients.services import NotWaitingToBeSent

    run(now, _failing(NO_SUCH_USER))
    row = Reminder.objects.get()
    settle_reminder(reminder=row, send_again=False, by=receptionist, at=now)

    with pytest.raises(NotWaitingToBeSent):
        settle_reminder(reminder=row, send_again=True, by=receptionist, at=now)
    assert run(now + HOUR) == {}


def test_who_needs_a_test_is_asked_in_before_it_is_too_late(
    run: Run, now: dt.datetime, guest: Client, tone: Service, line: ProductLine
) -> None:
    AppointmentFactory(client=guest, service=tone, line=line, starts_at=now + 5 * DAY)

    run(now)

    assert [r.kind for r in Reminder.objects.all()] == [ReminderKind.PATCH_DUE]
    assert "by Saturday 14 March, 10:00 at the latest" in mail.outbox[0].body
    assert line.name not in mail.outbox[0].body


def test_a_test_that_can_be_read_is_announced(
    run: Run, now: dt.datetime, guest: Client, line: ProductLine
) -> None:
    test = PatchTestFactory(client=guest, line=line, applied_at=now - 49 * HOUR)

    run(now)
    ReadingFactory(test=test)
    run(now + HOUR)

    assert len(mail.outbox) == 1
    assert "see a doctor or pharmacist" in mail.outbox[0].body


@pytest.fixture
def regular(guest: Client, tone: Service, line: ProductLine) -> Client:
    """Three tones six weeks apart, the last five weeks ago."""
    for weeks in (17, 11, 5):
        AppointmentFactory(
            client=guest, service=tone, line=line, status=Status.DONE,
            starts_at=at_clock(11, day=TODAY - dt.timedelta(weeks=weeks)),
        )  # fmt: skip
    return guest


def test_the_next_tone_is_due_by_the_clients_own_rhythm_if_they_agreed(
    run: Run, now: dt.datetime, regular: Client, receptionist: Staff
) -> None:
    now += 2 * HOUR
    assert run(now) == {"dropped": 1}
    Reminder.objects.all().delete()
    record_consent(
        client=regular, kind=ConsentKind.REMINDERS, wording="-", is_given=True, by=receptionist,
        at=now,
    )  # fmt: skip

    assert run(now) == {"sent": 1}
    assert "around 18 March" in mail.outbox[0].body


def test_who_has_booked_already_is_not_asked_to(
    *, run: Run, now: dt.datetime, regular: Client, tone: Service, line: ProductLine
) -> None:
    AppointmentFactory(client=regular, service=tone, line=line, starts_at=now + 15 * DAY)

    run(now + 2 * HOUR)

    assert not Reminder.objects.filter(kind=ReminderKind.RETONE_DUE).exists()


@pytest.mark.usefixtures("cut_tomorrow")
def test_a_reminder_speaks_the_salon_s_language_and_the_client_s_before_it(
    run: Run, guest: Client, salon: Salon, now: dt.datetime
) -> None:
    salon.language = "de"
    salon.save()

    run(now)

    (message,) = mail.outbox
    assert message.subject == "Ihr Termin am Donnerstag, 12. März, 15:00"
    assert "Guten Tag Ngozi Adichie," in message.body
    guest.language = "en-gb"
    assert guest.speaks(salon) == "en-gb"


def test_why_a_reminder_was_dropped_is_told_in_the_reader_s_language(
    guest: Client, salon: Salon, now: dt.datetime
) -> None:
    row = Reminder(why="wants no messages")

    with translation.override("de"):
        assert row.reason_text == "möchte keine Nachrichten"
