"""The words that a client agrees to; what was shown is kept with each consent.

Consent to keep health data must be explicit, and as easy to withdraw as to give (GDPR,
articles 7 and 9).
"""

from django.utils.translation import gettext_lazy

from clients.models import Client, ConsentKind
from salon import languages

CONSENT_WORDS = {
    ConsentKind.HEALTH_RECORD: gettext_lazy(
        "I agree that the salon keeps my patch tests, allergies and answers to "
        "its safety questions, so that colour is used safely. I can withdraw "
        "this at any time."
    ),
    ConsentKind.PHOTOS: gettext_lazy(
        "I agree that the salon takes photos of my hair and keeps them with my "
        "record. I can withdraw this at any time."
    ),
    ConsentKind.REMINDERS: gettext_lazy(
        "I agree that the salon reminds me of appointments and tests. I can "
        "withdraw this at any time."
    ),
    ConsentKind.CARD_MAIL: gettext_lazy(
        "I agree that the salon sends the card of my visit to my e-mail address. "
        "Others may be able to read e-mail on its way. I can withdraw this at "
        "any time."
    ),
}


# What a parent or guardian agrees to, where it differs.
GUARDIAN_WORDS = {
    ConsentKind.HEALTH_RECORD: gettext_lazy(
        "As parent or guardian I agree that the salon keeps patch tests, allergies and answers "
        "to its safety questions of the person I speak for, so that colour is used safely. I "
        "can withdraw this at any time."
    ),
}


def consent_wording(client: Client, kind: str, *, by_guardian: bool = False) -> str:
    """Return the words in the language of the client, who agrees to them."""
    texts = CONSENT_WORDS | (GUARDIAN_WORDS if by_guardian else {})
    with languages.speaking(client.speaks(client.salon)):
        return str(texts[ConsentKind(kind)])
