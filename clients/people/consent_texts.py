"""The words that a client agrees to; what was shown is kept with each consent.

Consent to keep health data must be explicit, and as easy to withdraw as to give (GDPR,
articles 7 and 9).
"""

from dataclasses import dataclass

from django.utils.translation import gettext_lazy

from clients.models import Client, ConsentKind
from salon import languages
from salon.models import Salon

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


# Of a signature of its own: it names two salons, and may speak of the photos too.
_MOVE = gettext_lazy(
    "I agree that %(salon)s gives %(other)s a copy of my record: my name, birth date, phone "
    "and e-mail, patch tests, allergies and reactions, answers to the safety questions, what "
    "was done to my hair, and my colour visits. %(other)s keeps it, so that colour is used "
    "safely there. I can withdraw this at any time. If the copy is there by then, I ask "
    "%(other)s to delete it."
)
_MOVE_GUARDIAN = gettext_lazy(
    "As parent or guardian I agree that %(salon)s gives %(other)s a copy of the record of the "
    "person I speak for: name, birth date, phone and e-mail, patch tests, allergies and "
    "reactions, answers to the safety questions, what was done to the hair, and the colour "
    "visits. %(other)s keeps it, so that colour is used safely there. I can withdraw this at "
    "any time. If the copy is there by then, I ask %(other)s to delete it."
)
_MOVE_PHOTOS = gettext_lazy("I also agree that %(other)s gets the photos of my hair.")
_MOVE_PHOTOS_GUARDIAN = gettext_lazy("I also agree that %(other)s gets the photos of the hair.")


@dataclass(frozen=True)
class MoveWords:
    """What a client agrees to for another salon to have a copy of the record."""

    record: str
    photos: str

    def agreed(self, *, has_photos: bool) -> str:
        """Return the words that were agreed to."""
        return f"{self.record} {self.photos}" if has_photos else self.record


def move_words(client: Client, other: Salon, *, by_guardian: bool = False) -> MoveWords:
    """Return the words for a copy to another salon, in the language of the client."""
    texts = (_MOVE_GUARDIAN, _MOVE_PHOTOS_GUARDIAN) if by_guardian else (_MOVE, _MOVE_PHOTOS)
    names = {"salon": client.salon.name, "other": other.name}
    with languages.speaking(client.speaks(client.salon)):
        return MoveWords(*(str(text) % names for text in texts))


def consent_wording(client: Client, kind: str, *, by_guardian: bool = False) -> str:
    """Return the words in the language of the client, who agrees to them."""
    texts = CONSENT_WORDS | (GUARDIAN_WORDS if by_guardian else {})
    with languages.speaking(client.speaks(client.salon)):
        return str(texts[ConsentKind(kind)])
