"""Trade words of tones and how strongly they are laid in, in the reader's language."""

from collections.abc import Mapping
from decimal import Decimal

from django.utils.formats import number_format
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from formulas.engine import Shade
from formulas.engine.toner.pigments import TONES

TONE_LABELS = {
    "natural": _("natural"),
    "violet": _("violet"),
    "blue": _("blue"),
    "violet-blue": _("violet-blue"),
    "pearl": _("pearl"),
    "green": _("green"),
    "gold": _("gold"),
    "copper": _("copper"),
    "red": _("red"),
    "beige": _("beige"),
}

BODIES = {
    "slight": _("slight"),
    "soft": _("soft"),
    "plain": _("plain"),
    "strong": _("strong"),
}


def tone_choices() -> list[tuple[str, str]]:
    """Return the tones that the engine knows, for a form."""
    return [(tone, str(TONE_LABELS.get(tone, tone))) for tone in TONES if tone != "clear"]


def words_for(tone: str, body: str) -> str:
    """Return the words after the level in a shade's name: "strong violet-blue"."""
    return tone if body == "plain" or tone == "natural" else f"{body} {tone}"


def name_of(level: Decimal, tone: str, body: str) -> str:
    """Return what a shade is called where nobody named it, in the reader's language."""
    words = {
        "level": number_format(level.normalize()),
        "tone": TONE_LABELS.get(tone, tone),
        "body": BODIES.get(body, body),
    }
    if body == "plain" or tone == "natural":
        return gettext("%(level)s %(tone)s") % words
    return gettext("%(level)s %(body)s %(tone)s") % words


def pigments_of(tone: str, body: str) -> dict[str, float]:
    """Return the pigments that these words mean."""
    return dict(Shade.from_words(f"8 {words_for(tone, body)}").tones)


def words_of(tones: Mapping[str, float]) -> tuple[str, str] | None:
    """Return (tone, body) whose pigments these are, or None where no words mean them."""
    for tone, _label in tone_choices():
        for body in ("plain", *(word for word in BODIES if word != "plain")):
            wanted = pigments_of(tone, body)
            if wanted.keys() == tones.keys() and all(
                abs(wanted[family] - tones[family]) < 1e-6 for family in wanted
            ):
                return tone, body
    return None
