"""Trade words of tones and how strongly they are laid in, in the reader's language."""

from collections.abc import Mapping

from django.utils.translation import gettext_lazy as _

from formulas.engine.shades import STRENGTHS, TONES

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


def words_of(tones: Mapping[str, float]) -> tuple[str, str] | None:
    """Return (tone, body) whose pigments these are, or None where no words mean them."""
    for tone, shares in TONES.items():
        if tone == "clear":
            continue
        for body, amount in STRENGTHS.items():
            wanted = {family: amount * share for family, share in shares.items()}
            if wanted.keys() == tones.keys() and all(
                abs(wanted[family] - tones[family]) < 1e-6 for family in wanted
            ):
                return tone, body if shares and body else "plain"
    return None
