"""A card's mail whose sender was killed half-way, and what the desk may do about it."""

import datetime as dt

import pytest
from django.core import mail
from django.core.exceptions import PermissionDenied
from django.test import Client as Browser
from django.urls import reverse
from pytest_django import Settings

from clients import services as desk
from clients.models import ConsentKind
from consult import services
from consult.models import CardMail, MailAnswer, MailState, Status, Visit
from consult.paper import pdf
from salon.mailing import letters
from salon.mailing.smtp import PerhapsSent
from salon.models import AuditEvent, Letter, LetterState, Salon, Staff
from tests.factories.consult import Story, owner_of
from tests.typed import SignIn
from tests.workers import QUEUE

LONG_AGO = dt.timedelta(minutes=11)


@pytest.fixture(autouse=True)
def drawn_fast(monkeypatch: pytest.MonkeyPatch) -> None:
    """Draw no PDF; `test_cards` does."""
    monkeypatch.setattr(pdf, "printed_paper", lambda *_a: pdf.Sheet(b"%PDF", 1, ""))


@pytest.fixture
def closed(story: Story) -> Visit:
    visit = story.to_end()
    visit.client.email = "ada@example.com"
    visit.client.save()
    return visit


@pytest.fixture
def killed(closed: Visit, now: dt.datetime, monkeypatch: pytest.MonkeyPatch) -> CardMail:
    """As if the connection broke after the text: nobody knows whether it left."""

    def broken_off(*_args: object) -> int:
        raise PerhapsSent

    with monkeypatch.context() as broken:
        broken.setattr("django.core.mail.EmailMessage.send", broken_off)
        mailed = services.mail_card(
            visit=closed, by=closed.stylist, at=now - LONG_AGO, agrees=True
        )
    mailed.refresh_from_db()
    return mailed


def _settle(row: CardMail, answer: str, now: dt.datetime, by: Staff) -> CardMail:
    return services.settle_mail(mail=row, answer=answer, by=by, at=now)


def test_the_page_says_that_it_is_not_known_and_the_stylist_says_that_it_arrived(
    killed: CardMail, tablet: Browser, now: dt.datetime
) -> None:
    page = reverse("consult:visit", args=[killed.visit_id])
    shown = tablet.get(page).text
    for words in ("May not have arrived", "It arrived", "Send again", "Leave it"):
        assert words in shown
    assert "On its way" not in shown

    address = reverse("consult:settle_mail", args=[killed.visit_id, killed.pk])
    settled = tablet.post(address, {"answer": "arrived"}, follow=True).text

    killed.refresh_from_db()
    assert (killed.state, killed.sent_at) == (MailState.SENT, killed.asked_at)
    assert "May not have arrived" not in settled
    assert "Sent to" in settled
    event = AuditEvent.objects.get(kind="card mail settled")
    assert event.target_id == str(killed.visit_id)
    assert event.detail == {"mail": killed.pk, "answer": "arrived"}
    assert tablet.post(address, {"answer": "burnt"}).status_code == 400
    assert mail.outbox == []


def test_one_that_is_queued_is_neither_settled_nor_sent_twice(
    story: Story, closed: Visit, now: dt.datetime, tablet: Browser, settings: Settings
) -> None:
    settings.TASKS = QUEUE
    fresh = services.mail_card(visit=closed, by=story.by, at=now, agrees=True)

    shown = tablet.get(reverse("consult:visit", args=[closed.pk])).text
    assert "On its way to" in shown
    assert "Send again" not in shown
    for answer in MailAnswer.values:
        with pytest.raises(services.MailRefused, match="on its way"):
            _settle(fresh, answer, now + dt.timedelta(minutes=9), story.by)

    fresh.refresh_from_db()
    assert fresh.state == MailState.SENDING
    assert mail.outbox == []


def test_a_worker_that_is_killed_leaves_it_to_a_person(
    story: Story, closed: Visit, now: dt.datetime, settings: Settings
) -> None:
    """Taken by a worker that is gone; its task is taken up by another."""
    settings.TASKS = QUEUE
    fresh = services.mail_card(visit=closed, by=story.by, at=now, agrees=True)
    Letter.objects.update(state=LetterState.SENDING)

    letters.send_now(Letter.objects.get())

    fresh.refresh_from_db()
    assert (fresh.state, fresh.why) == (MailState.PERHAPS, "worker")
    assert mail.outbox == []


@pytest.mark.parametrize("second", MailAnswer.values)
def test_of_two_people_who_press_at_once_the_second_is_told(
    killed: CardMail,
    second: str,
    now: dt.datetime,
) -> None:
    seen_by_other = CardMail.objects.get(pk=killed.pk)

    _settle(killed, MailAnswer.AGAIN, now, killed.asked_by)
    with pytest.raises(services.MailRefused, match="already dealt with"):
        _settle(seen_by_other, second, now, killed.asked_by)
    with pytest.raises(services.MailRefused, match="already dealt with"):
        _settle(CardMail.objects.get(pk=killed.pk), second, now + LONG_AGO, killed.asked_by)

    assert len(mail.outbox) == 1
    killed.refresh_from_db()
    assert killed.state == MailState.SENT
    assert AuditEvent.objects.filter(kind="card mail settled").count() == 1


def test_it_goes_again_only_to_where_the_client_still_wants_it(
    killed: CardMail, now: dt.datetime, tablet: Browser
) -> None:
    client, by = killed.visit.client, killed.asked_by
    client.email = "new@example.com"
    client.save()
    with pytest.raises(services.MailRefused, match="a new address"):
        _settle(CardMail.objects.get(), MailAnswer.AGAIN, now, by)
    client.email = killed.address
    client.save()
    desk.record_consent(
        client=client,
        kind=ConsentKind.CARD_MAIL,
        wording="words",
        is_given=False,
        by=by,
        at=now,
    )
    with pytest.raises(services.MailRefused, match="no longer agrees"):
        _settle(CardMail.objects.get(), MailAnswer.AGAIN, now, by)
    shown = tablet.get(reverse("consult:visit", args=[killed.visit_id])).text
    assert "Leave it" in shown
    assert "Send again" not in shown

    left = _settle(CardMail.objects.get(), MailAnswer.LEFT, now, by)

    assert (left.state, left.why) == (MailState.FAILED, "left")
    assert (
        "Somebody decided to leave it"
        in tablet.get(reverse("consult:visit", args=[killed.visit_id])).text
    )


def test_the_desk_mails_the_card_that_it_may_print_and_sees_nothing_else_of_the_visit(
    closed: Visit,
    receptionist: Staff,
    client_for: SignIn,
) -> None:
    counter = client_for(receptionist)
    page = reverse("consult:client_card", args=[closed.appointment_id])
    booked = counter.get(reverse("clients:appointment", args=[closed.appointment_id])).text
    assert f'href="{page}"' in booked

    shown = counter.get(page).text
    assert reverse("consult:card_pdf", args=[closed.pk]) in shown
    for shade in closed.formulas.get().lines.values_list("shade__name", flat=True):
        assert shade not in shown
    assert reverse("consult:bench_card", args=[closed.pk]) not in shown
    sent = counter.post(
        reverse("consult:mail_card", args=[closed.pk]), {"agrees": "on"}, follow=True
    )

    assert sent.redirect_chain[-1][0] == page
    assert "The card is being sent" in sent.text
    (message,) = mail.outbox
    assert message.to == ["ada@example.com"]
    assert CardMail.objects.get().asked_by == receptionist
    assert counter.get(reverse("consult:visit", args=[closed.pk])).status_code == 403


def test_the_desk_settles_too_and_an_open_visit_has_no_card_page(
    killed: CardMail, story: Story, receptionist: Staff, client_for: SignIn
) -> None:
    counter = client_for(receptionist)

    settled = counter.post(
        reverse("consult:settle_mail", args=[killed.visit_id, killed.pk]),
        {"answer": "left"},
        follow=True,
    )

    assert "Somebody decided to leave it" in settled.text
    Visit.objects.filter(pk=killed.visit_id).update(status=Status.OPEN, closed_at=None)
    page = reverse("consult:client_card", args=[killed.visit.appointment_id])
    assert counter.get(page).status_code == 302


def test_another_salon_settles_nothing_and_sees_no_card(
    killed: CardMail, now: dt.datetime, other_salon: Salon, client_for: SignIn
) -> None:
    stranger = owner_of(other_salon)
    theirs = client_for(stranger)

    settle = reverse("consult:settle_mail", args=[killed.visit_id, killed.pk])
    card = reverse("consult:client_card", args=[killed.visit.appointment_id])
    assert theirs.post(settle, {"answer": "arrived"}).status_code == 404
    assert theirs.get(settle).status_code == 405
    assert theirs.get(card).status_code == 404
    with pytest.raises(PermissionDenied):
        _settle(killed, MailAnswer.ARRIVED, now, stranger)
