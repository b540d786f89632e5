"""The card by e-mail: with consent only, once to an address, nothing about health in it."""

from typing import Any

import pytest
from django.core import mail
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.test import Client as Browser
from django.urls import reverse
from django_tasks_db.models import DBTaskResult
from pytest_django import Settings

from clients import services as desk
from clients.models import ConsentKind
from consult import services
from consult.models import CardMail, MailState, Visit
from consult.paper import pdf
from salon.mail import NoMailServer
from salon.mailing import letters
from salon.models import AuditEvent, Letter, Salon
from tests.factories.consult import Story, owner_of
from tests.typed import SignIn
from tests.workers import QUEUE


@pytest.fixture
def closed(story: Story) -> Visit:
    visit = story.to_end(note="Scalp a little red")
    visit.client.email = "ada@example.com"
    visit.client.save()
    return visit


@pytest.fixture(autouse=True)
def drawn_fast(monkeypatch: pytest.MonkeyPatch) -> None:
    """Draw no PDF; `test_cards` does."""
    monkeypatch.setattr(pdf, "printed_paper", lambda *_a: pdf.Sheet(b"%PDF", 1, ""))


def _mailed(story: Story, visit: Visit, **changes: Any) -> CardMail:
    return services.mail_card(
        **{"visit": visit, "by": story.by, "at": story.later(), "agrees": True, **changes}
    )


def _events(visit: Visit) -> list[str]:
    kinds = AuditEvent.objects.filter(target_id=str(visit.pk), kind__startswith="card mail")
    return list(kinds.order_by("pk").values_list("kind", flat=True))


def test_a_card_goes_out_once_with_the_clients_consent(
    story: Story,
    closed: Visit,
) -> None:
    closed.salon.email = "hello@corner.example"
    closed.salon.save()

    sent = _mailed(story, closed)
    with pytest.raises(services.MailRefused, match="already"):
        _mailed(story, closed)

    (message,) = mail.outbox
    assert message.to == ["ada@example.com"]
    assert [name for name, _content, _kind in message.attachments] == [f"card-{closed.pk}.pdf"]
    assert message.extra_headers["Auto-Submitted"] == "auto-generated"  # RFC 3834
    assert message.reply_to == ["hello@corner.example"]
    assert message.extra_headers["Message-ID"].startswith(f"<card.{sent.pk}@")
    sent.refresh_from_db()
    assert sent.state == MailState.SENT
    assert sorted(_events(closed)) == ["card mail asked for", "card mailed"]
    given = closed.client.consents.get(kind=ConsentKind.CARD_MAIL)
    assert given.is_given
    assert "my e-mail address" in given.wording


def test_the_message_says_nothing_of_health_or_hair(
    story: Story,
    closed: Visit,
) -> None:
    _mailed(story, closed)

    words = (mail.outbox[0].subject + str(mail.outbox[0].body)).casefold()
    for word in ("red", "scalp", "patch", "allerg", "level", "tidepool", "toner", "warmth"):
        assert word not in words.replace("registered", "")


def test_nothing_goes_out_without_consent_or_against_a_wish(
    story: Story, closed: Visit
) -> None:
    with pytest.raises(services.MailRefused, match="Ask the client"):
        _mailed(story, closed, agrees=False)
    closed.client.contact_by = "nothing"
    closed.client.save()
    with pytest.raises(services.MailRefused, match="no messages"):
        _mailed(story, closed)
    closed.client.contact_by, closed.client.email = "email", ""
    closed.client.save()
    with pytest.raises(services.MailRefused, match="No e-mail"):
        _mailed(story, closed)

    assert not CardMail.objects.exists()


def test_a_withdrawn_consent_counts_no_more(story: Story, closed: Visit) -> None:
    for is_given in (True, False):
        desk.record_consent(
            client=closed.client,
            kind=ConsentKind.CARD_MAIL,
            wording="words",
            is_given=is_given,
            by=story.by,
            at=story.later(),
        )

    with pytest.raises(services.MailRefused, match="Ask the client"):
        _mailed(story, closed, agrees=False)


def test_an_open_visit_and_another_salon_send_nothing(story: Story, other_salon: Salon) -> None:
    with pytest.raises(services.MailRefused, match="closed"):
        _mailed(story, story.visit)
    with pytest.raises(PermissionDenied):
        _mailed(story, story.visit, by=owner_of(other_salon))


def _refusing(server: type[Exception], monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_args: object, **_more: object) -> int:
        raise server

    monkeypatch.setattr("django.core.mail.EmailMessage.send", refuse)


def test_what_cannot_leave_now_waits_with_its_reason_and_leaves_later(
    story: Story, closed: Visit, monkeypatch: pytest.MonkeyPatch, tablet: Browser
) -> None:
    with monkeypatch.context() as broken:
        _refusing(ConnectionRefusedError, broken)
        waiting = _mailed(story, closed)
    waiting.refresh_from_db()
    assert waiting.state == MailState.SENDING
    page = reverse("consult:visit", args=[closed.pk])
    assert "yet: the mail server cannot be reached" in tablet.get(page).text
    with pytest.raises(services.MailRefused, match="already"):
        _mailed(story, closed)
    assert _events(closed) == ["card mail asked for"]

    letters.send_now(Letter.objects.get())

    waiting.refresh_from_db()
    assert waiting.state == MailState.SENT
    assert len(mail.outbox) == 1
    assert "Sent to" in tablet.get(page).text


def test_a_refused_message_is_kept_as_failed_and_may_be_tried_again(
    story: Story, closed: Visit, monkeypatch: pytest.MonkeyPatch, tablet: Browser
) -> None:
    with monkeypatch.context() as broken:
        _refusing(NoMailServer, broken)
        failed = _mailed(story, closed)
    page = tablet.get(reverse("consult:visit", args=[closed.pk])).text
    again = _mailed(story, closed)

    failed.refresh_from_db()
    again.refresh_from_db()
    assert (failed.state, failed.why) == (MailState.FAILED, "no_server")
    assert "It was not sent to" in page
    assert "no mail server is set up" in page
    assert again.state == MailState.SENT
    assert len(mail.outbox) == 1


def test_a_card_that_waits_goes_to_no_address_that_is_not_the_clients_any_more(
    story: Story, closed: Visit, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as broken:
        _refusing(ConnectionRefusedError, broken)
        waiting = _mailed(story, closed)
    closed.client.email = "new@example.com"
    closed.client.save()

    letters.send_now(Letter.objects.get())

    waiting.refresh_from_db()
    assert (waiting.state, waiting.why) == (MailState.FAILED, "unwanted")
    assert mail.outbox == []


def test_a_card_that_cannot_be_drawn_has_not_left(
    story: Story, closed: Visit, monkeypatch: pytest.MonkeyPatch
) -> None:
    def too_long(*_args: object) -> pdf.Sheet:
        raise pdf.DoesNotFit

    monkeypatch.setattr(pdf, "printed_paper", too_long)
    failed = _mailed(story, closed)

    failed.refresh_from_db()
    assert (failed.state, failed.why) == (MailState.FAILED, "paper")


def test_no_copy_of_the_card_waits_in_the_database(
    story: Story, closed: Visit, settings: Settings
) -> None:
    """The queue holds numbers only: the page is drawn as it leaves."""
    settings.TASKS = QUEUE
    _mailed(story, closed)

    letter = Letter.objects.get()
    (task,) = DBTaskResult.objects.all()
    assert task.args_kwargs == {"args": [letter.pk], "kwargs": {}}
    assert mail.outbox == []


def test_the_database_holds_one_live_row_for_an_address(story: Story, closed: Visit) -> None:
    row = {"visit": closed, "address": "a@example.com", "asked_by": story.by}
    CardMail.objects.create(**row, asked_at=story.at)
    for changes, name in (
        ({}, "card_mailed_once_to_an_address|consult_cardmail.visit_id"),
        ({"address": "b@example.com", "state": "lost"}, "card_mail_state_known"),
        ({"address": "b@example.com", "state": "sent"}, "card_mail_sent_has_a_time"),
    ):
        with pytest.raises(IntegrityError, match=name), transaction.atomic():
            CardMail.objects.create(**{**row, "asked_at": story.at, **changes})


def test_the_page_asks_for_consent_and_says_what_came_of_it(
    closed: Visit, tablet: Browser
) -> None:
    page = reverse("consult:visit", args=[closed.pk])
    address = reverse("consult:mail_card", args=[closed.pk])
    assert "The client agrees:" in tablet.get(page).text
    refused = tablet.post(address, follow=True)
    assert "Ask the client first" in refused.text

    tablet.post(address, {"agrees": "on"})

    shown = tablet.get(page).text
    assert "The client agrees:" not in shown
    assert "Sent to" in shown


def test_another_salons_card_is_not_mailed(
    closed: Visit, other_salon: Salon, client_for: SignIn
) -> None:
    theirs = client_for(owner_of(other_salon))

    address = reverse("consult:mail_card", args=[closed.pk])

    assert theirs.post(address).status_code == 404
    assert theirs.get(address).status_code == 405
