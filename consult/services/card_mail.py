"""A card's way to the client by e-mail: asked for, left, or settled by a person."""

import datetime as dt

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from clients import services as desk
from clients.models import Client, Consent, ConsentKind, ContactBy
from clients.people import person
from clients.people.consent_texts import CONSENT_WORDS
from consult import policies
from consult.models import CardMail, MailAnswer, MailState, Status, Visit
from salon import audit
from salon.mailing import letters
from salon.models import Letter, LetterState, Staff
from salon.refusals import Refused

LETTER = "card"
WITHIN = dt.timedelta(days=2)  # later the client has asked again, or left with the paper


class MailRefused(Refused):
    """Raised with the reason why a card is not mailed."""


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
    """Queue the card of a closed visit for the client's address; to each address once.

    `agrees` records the client's consent.
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
    audit.record_event("card mail asked for", target=visit, by=by, at=at, mail=mail.pk)
    _post(mail, at=at)
    return mail


@transaction.atomic
def settle_mail(*, mail: CardMail, answer: str, by: Staff, at: dt.datetime) -> CardMail:
    """Decide about a mail that nobody saw leave: it arrived, send it again, or leave it.

    Of two people who press at once the second is told.
    """
    policies.check_can_print(mail.visit, by=by)
    answers: dict[str, dict[str, object]] = {
        MailAnswer.ARRIVED: {"state": MailState.SENT, "sent_at": mail.asked_at},
        MailAnswer.AGAIN: {"state": MailState.SENDING, "asked_at": at, "asked_by": by},
        MailAnswer.LEFT: {"state": MailState.FAILED, "why": MailAnswer.LEFT},
    }
    if answer == MailAnswer.AGAIN and (reason := why_not_again(mail)):
        raise MailRefused(reason, code="no_address")
    doubtful = CardMail.objects.filter(pk=mail.pk, state=MailState.PERHAPS)
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
        _post(mail, at=at)
    return mail


def why_not_again(mail: CardMail) -> str:
    """Return what keeps a card from going out to where it was asked for, or nothing."""
    client = person.root(mail.visit.client)
    reason = why_not_mailed(client)
    if not reason and client.email != mail.address:
        reason = _("The client has a new address. Send the card to that one.")
    if not reason and not agreed_to_mail(client):
        reason = _("The client no longer agrees to cards by e-mail.")
    return reason


def _post(mail: CardMail, *, at: dt.datetime) -> None:
    letters.post(kind=LETTER, about=mail.pk, salon=mail.visit.salon, at=at, within=WITHIN)


def note_end(letter: Letter) -> None:
    """Keep what became of a card's letter; only one that left counts as mailed."""
    mail = CardMail.objects.select_related("visit__salon").get(pk=letter.about)
    ends: dict[str, dict[str, object]] = {
        LetterState.SENT: {"state": MailState.SENT, "sent_at": letter.ended_at},
        LetterState.PERHAPS: {"state": MailState.PERHAPS, "why": letter.reason},
        LetterState.REFUSED: {"state": MailState.FAILED, "why": letter.reason},
        LetterState.DROPPED: {"state": MailState.FAILED, "why": "unwanted"},
    }
    in_hand = CardMail.objects.filter(pk=mail.pk, state=MailState.SENDING)
    if not in_hand.update(**ends[letter.state]) or letter.ended_at is None:
        return
    if letter.state == LetterState.SENT:
        audit.record_event(
            "card mailed", target=mail.visit, by=None, at=letter.ended_at, mail=mail.pk
        )
