"""A wish for depth in words: natural hair of a level, as the trade calls it."""

from collections.abc import Iterable
from decimal import Decimal

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from formulas.suggestion import MUCH_WHITE_PERCENT

# Below this natural hair is nearly black: no toner of lightened hair is wished so dark.
DARKEST_LEVEL = 3
# A wish for less than this is none. [levels]
LEAST_LEVELS = 0.5


def colour_name(level: float) -> str:
    """Return natural hair of a level in words: "light brown (level 5)"."""
    return _("%(colour)s (level %(level)s)") % {
        "colour": _colours()[round(min(max(level, 1.0), 10.0))],
        "level": number_format(f"{level:g}"),
    }


def short_name(level: float) -> str:
    """Return the same where a list of levels is read: "5, light brown"."""
    return _("%(level)s, %(colour)s") % {
        "colour": _colours()[round(min(max(level, 1.0), 10.0))],
        "level": number_format(f"{level:g}"),
    }


def levels_below(looks_level: float) -> list[Decimal]:
    """Return the whole levels that can be wished by hair that looks like a level."""
    lightest = int(min(looks_level - LEAST_LEVELS, 10.0))
    return [Decimal(level) for level in range(lightest, DARKEST_LEVEL - 1, -1)]


def is_likely(white_percents: Iterable[int]) -> bool:
    """Return whether so much is white that cover, and so a depth, is usually wished."""
    return any(percent >= MUCH_WHITE_PERCENT for percent in white_percents)


def _colours() -> dict[int, str]:
    """Return the trade's usual names of natural levels."""
    return {
        10: _("lightest blonde"),
        9: _("very light blonde"),
        8: _("light blonde"),
        7: _("medium blonde"),
        6: _("dark blonde"),
        5: _("light brown"),
        4: _("medium brown"),
        3: _("dark brown"),
        2: _("darkest brown"),
        1: _("black"),
    }
