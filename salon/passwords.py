"""What makes a password weak, after NIST SP 800-63B-4, 3.1.1.2.

Length instead of rules of composition; refused is what is common, repeated, in a row, or made
of the names at hand. Also what an owner hands out for one sign-in.
"""

import re
import secrets
import unicodedata
from typing import Any

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from salon import selectors

LEAST = 15  # characters of a password that is the only factor
LEAST_OF_TWO = 8  # beside a second factor
MOST = 128
SHORTEST_NAME = 4  # letters; shorter ones are in too many words
_ALPHABET = "abcdefghjkmnpqrstuvwxyz23456789"  # nothing to mistake for another
_ROWS = ("abcdefghijklmnopqrstuvwxyz", "01234567890", "qwertyuiop", "asdfghjkl", "zxcvbnm")
_REPEATED = re.compile(r"(.{1,8})\1{2,}.{0,7}|(.{5,})\2")


def one_time_password() -> str:
    """Return 16 random letters and digits in groups of four: 79 bits, easy to read out."""
    letters = "".join(secrets.choice(_ALPHABET) for _n in range(16))
    return "-".join(letters[n : n + 4] for n in range(0, 16, 4))


class LongEnough:
    """Refuses a short password: a shorter one will do beside a second factor."""

    def validate(self, password: str, user: Any = None) -> None:
        least = least_for(user)
        if len(password) < least:
            raise ValidationError(
                _("This password is too short. Use at least %(least)s characters."),
                code="password_too_short",
                params={"least": least},
            )

    def get_help_text(self) -> str:
        return _("At least 15 characters; 8 beside a second factor.")


class NoPattern:
    """Refuses what repeats itself, or runs along the alphabet, the digits or the keyboard."""

    def validate(self, password: str, user: Any = None) -> None:
        plain = _plain(password)
        if not plain or _REPEATED.fullmatch(plain) or _share_in_rows(plain) > 0.7:
            raise ValidationError(
                _("This password repeats itself or follows a row of keys."), code="pattern"
            )

    def get_help_text(self) -> str:
        return _("Nothing repeated, and no row of keys.")


class NoNames:
    """Refuses a password that holds the name of the person or of the salon."""

    def validate(self, password: str, user: Any = None) -> None:
        plain = _plain(password)
        for name in _names_of(user):
            if name in plain:
                raise ValidationError(
                    _("Leave out your name and the name of the salon."), code="name"
                )

    def get_help_text(self) -> str:
        return _("Not your name, and not the salon’s.")


def least_for(user: Any) -> int:
    """Return how long somebody's password must be."""
    has_two = user is not None and user.pk and selectors.has_second_factor(staff=user)
    return LEAST_OF_TWO if has_two else LEAST


def _plain(text: str) -> str:
    """Return lower-case letters and digits only, without accents."""
    taken_apart = unicodedata.normalize("NFKD", text).casefold()
    return "".join(letter for letter in taken_apart if letter.isalnum())


def _names_of(user: Any) -> set[str]:
    if user is None:
        return set()
    salon = user.salon.name if getattr(user, "salon_id", None) else ""
    whole = [getattr(user, "username", ""), getattr(user, "display_name", ""), salon]
    parts = {_plain(name) for name in whole} | {
        _plain(word) for name in whole for word in re.split(r"\W+", name or "")
    }
    return {part for part in parts if len(part) >= SHORTEST_NAME}


def _share_in_rows(plain: str) -> float:
    """Return which share of neighbouring letters are neighbours in a row too, either way."""
    pairs = [plain[n : n + 2] for n in range(len(plain) - 1)]
    rows = [row for keys in _ROWS for row in (keys, keys[::-1])]
    near = sum(any(pair in row for row in rows) for pair in pairs)
    return near / len(pairs) if pairs else 1.0
