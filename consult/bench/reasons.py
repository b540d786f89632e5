"""Why a mix was taken: stored as a code with values, worded when it is shown."""

from django.utils.translation import gettext_lazy

from formulas import engine_sentences
from formulas.snapshots import StoredSentence

Reason = StoredSentence

SHOWN = "shown_to_client"
STOCK_SHORT = "stock_short"

_OWN = {
    SHOWN: gettext_lazy("It is the mix that the client was shown."),
    STOCK_SHORT: gettext_lazy("Not enough in stock for the mix that was planned before."),
}


def reason(code: str) -> Reason:
    """Return a reason of the salon's own, beside those of the engine."""
    return {"code": code, "values": {}}


def words(stored: Reason | str) -> str:
    """Return a reason in the reader's language; an old row holds words and keeps them."""
    if isinstance(stored, str) or stored["code"] not in _OWN:
        return engine_sentences.of_stored(stored)
    return str(_OWN[stored["code"]])
