"""Shades in words, one or a family: "8 violet-blue", "8 to 10, violet and pearl"."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from django.conf import settings
from django.utils import translation
from django.utils.translation import gettext as _

from formulas.tone_names import BODIES, TONE_LABELS
from salon.refusals import Refused

CLEAR = "clear"
LOWEST, HIGHEST = Decimal(1), Decimal(10)
# Levels and tones are written beside each other or in two cells; "and" joins several.
_JOINED = re.compile(r"[,;/&+]|\band\b|\bund\b")
_LEVEL = r"(\d{1,2}(?:[.,]5|[.,]0)?)"
_LEVELS = re.compile(rf"^\s*{_LEVEL}(?:\s*(?:-|–|to|bis)\s*{_LEVEL})?(?![\d.])\s*,?\s*(.*)$")
# What some labels write for the same tone; common practice, no source.
_SAME_TONE = {
    "neutral": "natural",
    "golden": "gold",
    "blue violet": "violet-blue",
    "ashy": "ash",
    "naturton": "natural",
    "asch": "ash",
    "aschig": "ash",
    "blauviolett": "violet-blue",
    "violettblau": "violet-blue",
    "klar": CLEAR,
}
_SAME_BODY = {
    "intense": "strong",
    "intensive": "strong",
    "light": "slight",
    "intensiv": "strong",
}


class NotInWords(Refused):
    """Raised where words name no shade that is known; says what is."""


@dataclass(frozen=True)
class Named:
    """One shade in words; no level is clear."""

    level: Decimal | None
    tone: str
    body: str = "plain"


def level_and_rest(text: str) -> tuple[tuple[Decimal, ...], str]:
    """Return the levels that a text begins with, as single ones, and what comes after."""
    found = _LEVELS.match(text.casefold())
    if not found:
        return (), text
    first = Decimal(found[1].replace(",", "."))
    last = Decimal(found[2].replace(",", ".")) if found[2] else first
    if not LOWEST <= min(first, last) <= max(first, last) <= HIGHEST:
        raise NotInWords(_("Levels go from 1 to 10."), code="level_range")
    low, high = sorted((first, last))
    levels = tuple(low + n for n in range(int(high - low) + 1))
    return levels, found[3]


def tones_of(text: str) -> list[tuple[str, str]]:
    """Return each (tone, body) that a text names: "strong violet and pearl"."""
    found = [_tone(part) for part in _JOINED.split(text.casefold()) if part.strip()]
    if not found:
        raise NotInWords(_("The tone is missing."), code="no_tone")
    return found


def family(levels: str, tones: str) -> list[Named]:
    """Return every shade of these levels and tones; "clear" has no level."""
    named = tones_of(tones)
    if [tone for tone, _body in named] == [CLEAR]:
        return [Named(None, CLEAR)]
    numbers, rest = level_and_rest(levels)
    if not numbers or rest.strip():
        raise NotInWords(
            _("Write the level as a number from 1 to 10, or as 8 to 10."), code="no_level"
        )
    return list(_each(numbers, named))


def shades_in(text: str) -> list[Named]:
    """Return the shades that a text names on its own: "8 to 10, violet and pearl"."""
    levels, rest = level_and_rest(text)
    if levels:
        return list(_each(levels, tones_of(rest)))
    if [tone for tone, _body in tones_of(text)] == [CLEAR]:
        return [Named(None, CLEAR)]
    raise NotInWords(
        _("Write the level as a number from 1 to 10, or as 8 to 10."), code="no_level"
    )


def _each(levels: tuple[Decimal, ...], tones: list[tuple[str, str]]) -> Iterator[Named]:
    for tone, body in tones:
        for level in levels:
            yield Named(None, CLEAR) if tone == CLEAR else Named(level, tone, body)


def _tone(text: str) -> tuple[str, str]:
    words = _words(text)
    tones, bodies = _known()
    body = [bodies[word] for word in words if word in bodies]
    rest = [word for word in words if word not in bodies]
    if len(rest) > 1:  # "violet natural": every shade has a neutral background already
        rest = [word for word in rest if tones.get(word) != "natural"]
    tone = tones.get(" ".join(rest)) or tones.get("".join(rest))
    if tone is None or len(body) > 1:
        known = ", ".join(str(label) for label in TONE_LABELS.values())
        raise NotInWords(
            _("“%(words)s” is not a tone that is known. Write one of: %(known)s."),
            code="unknown_tone",
            words=" ".join(text.split())[:40],
            known=known,
        )
    return tone, body[0] if body else "plain"


def _words(text: str) -> list[str]:
    return re.findall(r"[^\W\d_]+", text)


@lru_cache(maxsize=1)
def _known() -> tuple[dict[str, str], dict[str, str]]:
    """Return tones and strengths by how they are written, in every language of the product.

    The label on a tube is in its maker's language, not in the reader's.
    """
    tones = {" ".join(_words(word)): tone for word, tone in _SAME_TONE.items()}
    bodies = dict(_SAME_BODY)
    for code, _name in settings.LANGUAGES:
        with translation.override(code):
            for tone, label in TONE_LABELS.items():
                tones[" ".join(_words(str(label).casefold()))] = tone
            for body, label in BODIES.items():
                bodies[str(label).casefold()] = body
    tones |= {"ash": "ash", CLEAR: CLEAR}
    return tones, bodies
