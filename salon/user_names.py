"""User names that can be mistaken for one another.

Names are stored in NFKC, as Django reads them at the sign-in, and in one script. Two names
look alike if their skeletons are the same: the idea of Unicode's UTS 39, with the letters of
Latin, Cyrillic and Greek that share their shapes (a small part of its table, from memory).
"""

import unicodedata

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

_SHAPES = str.maketrans(
    "аеорсухіјѕһԁԛԝвкмнтбαοριντυκχε01|",
    "aeopcyxijshdqwbkmht6aopivtukxeoll",
)


def normalized(name: str) -> str:
    """Return a name as it is stored and looked for."""
    return unicodedata.normalize("NFKC", name)


def skeleton(name: str) -> str:
    """Return what a name looks like: names with the same skeleton can be mistaken."""
    plain = unicodedata.normalize("NFKD", name).casefold()
    letters = "".join(letter for letter in plain if not unicodedata.combining(letter))
    return letters.translate(_SHAPES).replace("i", "l").replace("rn", "m").replace("vv", "w")


def validate_one_script(name: str) -> None:
    """Refuse letters of several scripts in one name."""
    scripts = {
        unicodedata.name(letter, "?").split(" ", 1)[0]
        for letter in normalized(name)
        if letter.isalpha()
    }
    japanese = {"CJK", "HIRAGANA", "KATAKANA", "KATAKANA-HIRAGANA"}
    if len(scripts) > 1 and not scripts <= japanese:
        raise ValidationError(_("Use letters of one script only."), code="scripts")
