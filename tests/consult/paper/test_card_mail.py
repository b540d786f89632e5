"""The card by e-mail: with consent only, once to an address, nothing about health in it."""

from typing import Any

import pytest
from django.core import mail
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.test import Client as Browser
from django.urls import reverse
from pytest_django import DjangoCaptureOnCommitCallbacks

from clients import services as desk
from clients.models import ConsentKind
from consult import services
from consult.models import CardMail, MailState, Visit
from consult.paper import pdf
from salon.models import Salon
from tests.factories.consult import Story, owner_of
from tests.typed import SignIn


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


def test_a_card_goes_out_once_with_the_clients_consent(
    story: Story,
    closed: Visit,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        sent = _mailed(story, closed)
    with pytest.raises(services.MailRefused, match="already"):
        _mailed(story, closed)

    (message,) = mail.outbox
    assert message.to == ["ada@example.com"]
    assert [name for name, _content, _kind in message.attachments] == [f"card-{closed.pk}.pdf"]
    sent.refresh_from_db()
    assert sent.state == MailState.SENT
    given = closed.client.consents.get(kind=ConsentKind.CARD_MAIL)
    assert given.is_given
    assert "my e-mail address" in given.wording


def test_the_message_says_nothing_of_health_or_hair(
    story: Story,
    closed: Visit,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
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


def test_a_refused_message_is_kept_as_failed_and_may_be_tried_again(
    story: Story,
    closed: Visit,
    monkeypatch: pytest.MonkeyPatch,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    def refuse(*_args: object, **_more: object) -> int:
        raise ConnectionRefusedError

    with monkeypatch.context() as broken:
        broken.setattr("django.core.mail.EmailMessage.send", refuse)
        with django_capture_on_commit_callbacks(execute=True):
            failed = _mailed(story, closed)
    with django_capture_on_commit_callbacks(execute=True):
        again = _mailed(story, closed)

    failed.refresh_from_db()
    again.refresh_from_db()
    assert (failed.state, failed.why) == (MailState.FAILED, "ConnectionRefusedError")
    assert again.state == MailState.SENT
    assert len(mail.outbox) == 1


def test_one_that_was_taken_and_never_finished_is_not_sent_twice(
    story: Story, closed: Visit
) -> None:
    """As if the process were killed between the commit and the mail server."""
    _mailed(story, closed)

    with pytest.raises(services.MailRefused, match="already"):
        _mailed(story, closed)


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
    closed: Visit,
    tablet: Browser,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    page = reverse("consult:visit", args=[closed.pk])
    address = reverse("consult:mail_card", args=[closed.pk])
    assert "The client agrees:" in tablet.get(page).text
    refused = tablet.post(address, follow=True)
    assert "Ask the client first" in refused.text

    with django_capture_on_commit_callbacks(execute=True):
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
