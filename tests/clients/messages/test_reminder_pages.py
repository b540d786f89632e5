"""The words of reminders, their pages and their command."""

import datetime as dt

import pytest
import time_machine
from django.core import mail
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.management import call_command
from django.utils.html import escape
from pytest_django import DjangoAssertNumQueries

from clients.messages.channels import EmailChannel
from clients.messages.reminder_texts import unknown_fields
from clients.models import Appointment, DeskPolicy, Reminder, Service
from clients.services import (
    change_desk_policy,
    change_template,
    queue_reminders,
    send_reminders,
)
from formulas.models import ProductLine
from salon.models import Salon, Staff
from tests.clients.conftest import TODAY, at_clock
from tests.factories.clients import AppointmentFactory, ClientFactory
from tests.typed import SignIn

DAY = dt.timedelta(days=1)


@pytest.fixture
def cut_tomorrow(salon: Salon, cut: Service) -> Appointment:
    guest = ClientFactory(salon=salon, name="Ngozi Adichie", email="ngozi@example.com")
    return AppointmentFactory(
        client=guest, service=cut, starts_at=at_clock(15, day=TODAY + DAY)
    )


@pytest.mark.parametrize(
    ("text", "unknown"),
    [
        ("Dear {name}", []),
        ("{name.__class__}", ["name.__class__"]),
        ("{0}", ["0"]),
        ("{}", [""]),
        ("{allergy}", ["allergy"]),
        ("{name", ["{name"]),
    ],
)
def test_words_name_only_what_a_reminder_knows(
    text: str, unknown: list[object] | list[str]
) -> None:
    assert unknown_fields(text) == unknown


@pytest.mark.usefixtures("cut_tomorrow")
def test_the_salons_own_words_are_used(
    salon: Salon, now: dt.datetime, owner: Staff, receptionist: Staff
) -> None:
    given = {"subject": "See you, {name}", "body": "{when}", "hours_before": 30, "is_on": True}

    with pytest.raises(PermissionDenied):
        change_template(kind="appointment", by=receptionist, at=now, **given)
    with pytest.raises(ValidationError):
        change_template(kind="appointment", by=owner, at=now, **{**given, "body": "{secret}"})
    change_template(kind="appointment", by=owner, at=now, **given)
    queue_reminders(salon=salon, at=now)
    send_reminders(salon=salon, at=now, channel=EmailChannel())

    assert mail.outbox[0].subject == "See you, Ngozi Adichie"


@pytest.mark.usefixtures("cut_tomorrow")
def test_the_pages_show_preview_and_change_words(
    now: dt.datetime, salon: Salon, client_for: SignIn, owner: Staff
) -> None:
    with time_machine.travel(now, tick=False):
        boss = client_for(owner)
        queue_reminders(salon=salon, at=now)
        row = Reminder.objects.get()

        assert "Ngozi Adichie" in boss.get("/reminders/").text
        assert (
            "we look forward to seeing you on Thursday"
            in boss.get(f"/reminders/{row.pk}/").text
        )
        given = {"is_on": "on", "hours_before": "24", "subject": "Hello", "body": "{oops}"}
        wrong = boss.post("/reminders/words/appointment/", given)
        assert wrong.status_code == 422
        assert "Unknown: oops" in wrong.text
        assert boss.get("/reminders/words/nonsense/").status_code == 404
        boss.post(
            "/reminders/desk/",
            {"history_years": "3", "quiet_from": "22:00", "quiet_until": "07:00"},
        )
    salon.refresh_from_db()
    assert salon.desk_policy.history_years == 3


@pytest.mark.usefixtures("cut_tomorrow")
def test_the_preview_is_what_leaves_with_the_way_out(
    now: dt.datetime, salon: Salon, client_for: SignIn, owner: Staff
) -> None:
    queue_reminders(salon=salon, at=now)
    row = Reminder.objects.get()

    with time_machine.travel(now, tick=False):
        page = client_for(owner).get(f"/reminders/{row.pk}/").text
    send_reminders(salon=salon, at=now, channel=EmailChannel())

    lines = [line for line in mail.outbox[0].body.splitlines() if line.strip()]
    assert lines[-1].startswith("Stop reminders: ")
    for line in lines:
        assert escape(line) in page


def test_quiet_hours_without_an_end_are_refused_beside_the_field(
    salon: Salon, now: dt.datetime, client_for: SignIn, owner: Staff
) -> None:
    boss = client_for(owner)
    given = {"history_years": "3", "quiet_from": "20:00", "quiet_until": "20:00"}

    refused = boss.post("/reminders/desk/", given)

    assert refused.status_code == 422
    assert list(refused.context["form"].errors) == ["quiet_until"]
    assert "no message would ever be sent" in refused.text
    assert not DeskPolicy.objects.exists()
    with pytest.raises(ValidationError, match="ever be sent"):
        change_desk_policy(
            by=owner, at=now, quiet_from=dt.time(8), quiet_until=dt.time(8), history_years=2
        )


@pytest.mark.usefixtures("cut_tomorrow")
def test_the_command_queues_and_sends_for_every_salon(
    now: dt.datetime, capsys: pytest.CaptureFixture[str]
) -> None:
    with time_machine.travel(now, tick=False):
        call_command("send_reminders")
        call_command("send_reminders")

    assert "sent: 1" in capsys.readouterr().out
    assert len(mail.outbox) == 1


def test_queueing_asks_a_fixed_number_of_queries(
    salon: Salon,
    now: dt.datetime,
    tone: Service,
    line: ProductLine,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    def fill(count: int) -> None:
        for _ in range(count):
            one = ClientFactory(salon=salon, email="a@example.com")
            AppointmentFactory(client=one, service=tone, line=line, starts_at=now + DAY)

    fill(2)
    with CaptureQueriesContext(connection) as few:
        queue_reminders(salon=salon, at=now)
    fill(9)

    with django_assert_num_queries(len(few)):
        queue_reminders(salon=salon, at=now)
