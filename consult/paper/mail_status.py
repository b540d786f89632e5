"""What a page says of a card's way by e-mail."""

import datetime as dt

from clients.models import ConsentKind
from clients.people import person
from clients.people.consent_texts import CONSENT_WORDS
from consult import services
from consult.models import MailState, Visit


def mail_context(visit: Visit, *, at: dt.datetime) -> dict[str, object]:
    """Return whether and how the card may go out by e-mail, and what became of it."""
    client = person.root(visit.client)
    refusal = services.why_not_mailed(client)
    agreed = services.agreed_to_mail(client)
    mails = list(visit.mailed_cards.all())
    return {
        "mails": [
            {
                "mail": mail,
                "in_doubt": mail.is_in_doubt(at),
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
