"""What a page says of a card's way by e-mail."""

from clients.models import ConsentKind
from clients.people import person
from clients.people.consent_texts import CONSENT_WORDS
from consult import services
from consult.models import MailState, Visit
from consult.services import card_mail
from salon.mailing.status import last_of


def mail_context(visit: Visit) -> dict[str, object]:
    """Return whether and how the card may go out by e-mail, and what became of it."""
    client = person.root(visit.client)
    refusal = services.why_not_mailed(client)
    agreed = services.agreed_to_mail(client)
    mails = list(visit.mailed_cards.all())
    waiting = [mail.pk for mail in mails if mail.state == MailState.SENDING]
    letters = last_of(card_mail.LETTER, waiting)
    return {
        "mails": [
            {
                "mail": mail,
                "letter": letters.get(mail.pk),
                "in_doubt": mail.state == MailState.PERHAPS,
                "may_go_again": agreed and not refusal and mail.address == client.email,
            }
            for mail in mails
        ],
        "mail_to": client.email,
        "mail_refusal": refusal,
        # To each address once: sent, or in somebody's hands.
        "mail_taken": any(
            mail.address == client.email and mail.state != MailState.FAILED for mail in mails
        ),
        "mail_agreed": agreed,
        "mail_words": CONSENT_WORDS[ConsentKind.CARD_MAIL],
    }
