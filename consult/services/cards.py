"""That a card was printed, and its way to the client by e-mail."""

import datetime as dt
from functools import partial

from django.core.mail import EmailMessage
from django.db import IntegrityError, transaction
from django.db.models import QuerySet
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from clients import services as desk
from clients.models import Client, Consent, ConsentKind, ContactBy, PatchTest
from clients.people import person
from clients.people.consent_texts import CONSENT_WORDS
from consult import policies
from consult.models import (
    IN_DOUBT_AFTER,
    CardMail,
    CardPrinted,
    MailAnswer,
    MailState,
    Status,
    Visit,
)
from consult.paper import content as papers
from consult.paper import pdf
from salon import audit, languages
from salon.models import Staff
from salon.refusals import Refused


@transaction.atomic
def record_card(
    *, visit: Visit, kind: str, digest: str, by: Staff, at: dt.datetime
) -> CardPrinted:
    """Record that a page of a visit was printed; the desk may print too."""
    policies.check_can_print(visit, by=by)
    row = CardPrinted.objects.create(
        visit=visit, kind=kind, digest=digest, printed_at=at, printed_by=by
    )
    audit.record_event("card printed", target=visit, by=by, at=at, card=kind)
    return row


class MailRefused(Refused):
    """Raised with the reason why a card is not mailed."""


@transaction.atomic
def note_slip(*, test: PatchTest, by: Staff, at: dt.datetime) -> None:
    """Note that the slip of a patch test was printed."""
    policies.check_can_print(test.client, by=by)
    audit.record_event("patch slip printed", target=test, by=by, at=at)


def agreed_to_mail(client: Client) -> bool:
    """Return whether the client's last word on cards by e-mail is yes."""
    last = (
        Consent.objects.filter(client__in=person.ids_of(client), kind=ConsentKind.CARD_MAIL)
        .order_by("recorded_at", "pk")
        .last()
    )
    return last is not None and last.is_given


def why_not_mailed(client: Client) -> str:
    """Return what keeps cards from going to a client's address, or nothing."""
    if client.contact_by == ContactBy.NOTHING:
        return _("The client wants no messages.")
    if not client.email:
        return _("No e-mail address is on record.")
    return ""


@transaction.atomic
def mail_card(*, visit: Visit, by: Staff, at: dt.datetime, agrees: bool = False) -> CardMail:
    """Send the card of a closed visit to the client's address; to each address once.

    Taken first and sent after the commit: a sender that is killed in between leaves a row
    that says so, and nothing goes out twice. `agrees` records the client's consent.
    """
    policies.check_can_print(visit, by=by)
    if visit.status != Status.CLOSED:
        raise MailRefused(
            _("The card can be sent once the visit is closed."), code="not_closed"
        )
    client = person.root(visit.client)
    reason = why_not_mailed(client)
    if reason:
        raise MailRefused(reason, code="no_address")
    if not agreed_to_mail(client):
        if not agrees:
            raise MailRefused(
                _("Ask the client first, and tick that they agree."), code="not_agreed"
            )
        desk.record_consent(
            client=client,
            kind=ConsentKind.CARD_MAIL,
            wording=str(CONSENT_WORDS[ConsentKind.CARD_MAIL]),
            is_given=True,
            by=by,
            at=at,
        )
    try:
        with transaction.atomic():
            mail = CardMail.objects.create(
                visit=visit, address=client.email, asked_at=at, asked_by=by
            )
    except IntegrityError:
        raise MailRefused(
            _("This card has already been sent to that address."), code="already_sent"
        ) from None
    audit.record_event("card mailed", target=visit, by=by, at=at, mail=mail.pk)
    transaction.on_commit(partial(deliver_card, mail, at=at))
    return mail


@transaction.atomic
def settle_mail(*, mail: CardMail, answer: str, by: Staff, at: dt.datetime) -> CardMail:
    """Decide about a mail that nobody saw leave: it arrived, send it again, or leave it.

    The moment at which it was asked for stands for the sender that took it. Whoever takes
    it anew sets another, so of two people who press at once the second is told, and an old
    sender that wakes up late changes nothing.
    """
    policies.check_can_print(mail.visit, by=by)
    answers: dict[str, dict[str, object]] = {
        MailAnswer.ARRIVED: {"state": MailState.SENT, "sent_at": mail.asked_at},
        MailAnswer.AGAIN: {"asked_at": at, "asked_by": by},
        MailAnswer.LEFT: {"state": MailState.FAILED, "why": MailAnswer.LEFT},
    }
    if answer == MailAnswer.AGAIN:
        _check_may_go_again(mail)
    doubtful = _in_hand(mail).filter(asked_at__lt=at - IN_DOUBT_AFTER)
    if not doubtful.update(**answers[answer]):
        raise MailRefused(
            _("This e-mail is on its way, or someone has already dealt with it."),
            code="settled",
        )
    audit.record_event(
        "card mail settled", target=mail.visit, by=by, at=at, mail=mail.pk, answer=answer
    )
    mail.refresh_from_db()
    if answer == MailAnswer.AGAIN:
        transaction.on_commit(partial(deliver_card, mail, at=at))
    return mail


def _check_may_go_again(mail: CardMail) -> None:
    client = person.root(mail.visit.client)
    reason = why_not_mailed(client)
    if not reason and client.email != mail.address:
        reason = _("The client has a new address. Send the card to that one.")
    if not reason and not agreed_to_mail(client):
        reason = _("The client no longer agrees to cards by e-mail.")
    if reason:
        raise MailRefused(reason, code="no_address")


def deliver_card(mail: CardMail, *, at: dt.datetime) -> None:
    """Draw the card and hand it to the mail server; keep what came of it."""
    visit = mail.visit
    try:
        with languages.speaking(visit.client.speaks(visit.salon)):
            sheet = pdf.printed_paper(papers.CARD, papers.visit_card(visit))
            message = _message(mail, sheet.content)
        message.send()
    except (OSError, pdf.DoesNotFit) as error:  # it has not gone out
        _end(mail, state=MailState.FAILED, why=type(error).__name__[:60])
        return
    _end(mail, state=MailState.SENT, sent_at=at)


def _end(mail: CardMail, **fields: object) -> None:
    _in_hand(mail).update(**fields)


def _in_hand(mail: CardMail) -> QuerySet[CardMail]:
    """Return the mail as long as the sender that was known here still has it."""
    return CardMail.objects.filter(pk=mail.pk, state=MailState.SENDING, asked_at=mail.asked_at)


def _message(mail: CardMail, content: bytes) -> EmailMessage:
    """Return the message: nothing about health, and nothing of the hair, is in its body."""
    visit = mail.visit
    values = {
        "name": visit.client.called,
        "salon": visit.salon.name,
        "phone": visit.salon.phone,
        "when": date_format(visit.opened_at.astimezone(visit.salon.zone), "DATE_FORMAT"),
    }
    message = EmailMessage(
        subject=_("Your card from %(salon)s") % values,
        body=_(
            "Dear %(name)s,\n\n"
            "the card of your visit on %(when)s is attached.\n"
            "If you have questions, please call %(phone)s.\n\n"
            "%(salon)s"
        )
        % values,
        to=[mail.address],
        headers={"Message-ID": f"<card.{mail.pk}@cards.invalid>"},
    )
    message.attach(f"card-{visit.pk}.pdf", content, "application/pdf")
    return message
