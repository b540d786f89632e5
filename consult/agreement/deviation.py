"""Whether a mix still is what the client signed for."""

from django.utils.translation import gettext as _

from consult.agreement.statement import one_decimal, tied
from formulas import warmth_words
from formulas.snapshots import Outlook

# What an eye would call another result: more than a shade of warmth, or half a level, which
# is the step in which levels are read (common practice, no source).
WARMTH_PERCENT = 15.0
DEPTH_LEVELS = 0.5


def strays(*, signed: Outlook, mix: Outlook) -> str:
    """Return why a mix is not what was signed, or an empty string."""
    warmth = (signed["warmth_left_percent"]["value"], mix["warmth_left_percent"]["value"])
    deeper = (signed["levels_deeper_looks"]["value"], mix["levels_deeper_looks"]["value"])
    values = {
        "signed_warmth": warmth_words.in_full_of(signed),
        "warmth": warmth_words.in_full_of(mix),
        "signed_deeper": one_decimal(deeper[0]),
        "deeper": one_decimal(deeper[1]),
    }
    if (
        abs(warmth[1] - warmth[0]) <= WARMTH_PERCENT
        and deeper[1] - deeper[0] <= DEPTH_LEVELS
        and deeper[0] - deeper[1] <= 2 * DEPTH_LEVELS
    ):
        return ""
    return tied(
        _(
            "This mix gives: %(warmth)s, %(deeper)s levels deeper. Promised was: "
            "%(signed_warmth)s, %(signed_deeper)s levels deeper. Change the mix, or ask "
            "the client to choose and sign again."
        )
        % values
    )


def distance(*, signed: Outlook, mix: Outlook) -> float:
    """Return how far a mix is from what was signed, counted in the tolerances of `strays`."""
    warmth = mix["warmth_left_percent"]["value"] - signed["warmth_left_percent"]["value"]
    deeper = mix["levels_deeper_looks"]["value"] - signed["levels_deeper_looks"]["value"]
    tolerance = DEPTH_LEVELS if deeper > 0 else 2 * DEPTH_LEVELS
    return float(max(abs(warmth) / WARMTH_PERCENT, abs(deeper) / tolerance))
