"""The engine's refusals in the reader's language.

The engine raises ValueError with an English sentence for programmers, which names arguments
and units. What can reach a screen is said here in the words of the screens; whatever else
comes says only that the numbers cannot be worked with.
"""

import re
from collections.abc import Callable, Mapping

from django.utils.formats import number_format
from django.utils.translation import gettext as _

Found = Mapping[str, str]


def in_words(error: ValueError) -> str:
    """Return a refusal for the screen; one that is worded already stays as it is."""
    if type(error) is not ValueError:  # a refusal of the product's own
        return str(error)
    return from_text(str(error)) or _("These numbers cannot be used. Check them.")


def from_text(text: str) -> str:
    """Return the words of an engine's sentence, or nothing where none fits."""
    for pattern, wording in _PATTERNS:
        found = pattern.fullmatch(text)
        if found:
            return wording(found.groupdict())
    return ""


def named(argument: str) -> str:
    """Return what a screen calls one of the engine's arguments."""
    words = {
        "lifted_level": _("The lifted level"),
        "level": _("The level"),
        "undertone": _("The undertone"),
        "white_percent": _("The share of white hair"),
        "porosity": _("The porosity"),
        "minutes": _("The processing time"),
        "processing_minutes": _("The processing time"),
        "washes": _("The number of washes"),
        "washes_since": _("The number of washes"),
        "developer_ratio": _("The developer per part of colour"),
        "developer_percent": _("The developer's strength"),
        "bowl_grams": _("The weight of the bowl"),
        "neutral": _("The share of the neutral background"),
        "strength": _("The strength"),
        "aim": _("The warmth to keep"),
        "warmth_left_percent": _("The warmth left"),
        "parts": _("The number of parts"),
    }
    first = re.split(r"[ \[]", argument)[0]
    return words.get(argument) or words.get(first) or _("A number")


def _number(text: str) -> str:
    try:
        value = float(text)
    except ValueError:
        return text
    shown = f"{value:g}"
    return number_format(value, len(shown.partition(".")[2])) if "e" not in shown else shown


def _range(found: Found) -> str:
    return _("%(name)s must be between %(low)s and %(high)s.") % {
        "name": named(found["name"]),
        "low": _number(found["low"]),
        "high": _number(found["high"]),
    }


def _no_number(found: Found) -> str:
    return _("%(name)s must be a number.") % {"name": named(found["name"])}


def _not_lighter(found: Found) -> str:
    values = {name: _number(found[name]) for name in ("level", "below", "own", "other")}
    return (
        _(
            "Level %(level)s is not lighter than level %(below)s (L* %(own)s against "
            "%(other)s). Hair must get lighter as the level rises."
        )
        % values
    )


def _not_warmer(found: Found) -> str:
    return _(
        "Level %(level)s is no warmer than natural hair of the same depth. "
        "Exposed warmth must be on its warm side."
    ) % {"level": _number(found["level"])}


def _worded(words: Callable[[], str]) -> Callable[[Found], str]:
    return lambda _found: words()


def _no_shade(found: Found) -> str:
    return _("This line has no shade called %(name)s.") % {"name": found["name"]}


def _needs_level(found: Found) -> str:
    return _("%(name)s has tone pigments. Give it a level from 1 to 10.") % {
        "name": found["name"]
    }


_ANY = r"[\s\S]*"
_PATTERNS: list[tuple[re.Pattern[str], Callable[[Found], str]]] = [
    (re.compile(pattern), wording)
    for pattern, wording in (
        (
            rf"\w+ \[L\*a\*b\*\]: level (?P<level>\S+) is not lighter than level "
            rf"(?P<below>\S+) \(L\* (?P<own>\S+) against (?P<other>\S+)\);{_ANY}",
            _not_lighter,
        ),
        (
            rf"\w+ \[L\*a\*b\*\]: level (?P<level>\S+) is no warmer than natural hair{_ANY}",
            _not_warmer,
        ),
        (
            rf"lab \[L\*a\*b\*\] needs an L\* between 0 and 100{_ANY}",
            _worded(lambda: _("L* (lightness) must be between 0 and 100.")),
        ),
        (
            rf"lab \[L\*a\*b\*\] \[.*\]: no smooth reflectance{_ANY}",
            _worded(lambda: _("No surface can have this colour. Check L*, a* and b*.")),
        ),
        (
            rf"[\s\S]*\[L\*a\*b\*\]{_ANY}",
            _worded(lambda: _("A colour needs three plain numbers: L*, a* and b*.")),
        ),
        (
            rf"grams_in_stock \[g\]{_ANY}",
            _worded(
                lambda: _(
                    "There is not enough in stock for this bowl. Receive stock, or choose a "
                    "smaller bowl or another line."
                )
            ),
        ),
        (
            rf"shades of {_ANY}: only clear to mix with{_ANY}",
            _worded(
                lambda: _(
                    "Only clear is in stock. A toner needs at least one shade with pigment."
                )
            ),
        ),
        (
            rf"(shades: this line has no shade in use|shades of {_ANY}: a line needs{_ANY})",
            _worded(lambda: _("This line has no shade in use.")),
        ),
        (
            rf"parts \[parts\] must name at least one shade{_ANY}",
            _worded(lambda: _("Enter parts for at least one shade.")),
        ),
        (rf"parts: {_ANY}?no shade ['\"](?P<name>.*?)['\"]{_ANY}", _no_shade),
        (rf"level of (?P<name>.*) \[level\]: a shade with tone pigments{_ANY}", _needs_level),
        (
            rf"name of a (shade|line) must not be empty{_ANY}",
            _worded(lambda: _("Enter a name.")),
        ),
        (
            rf"wavelengths_nm \[nm\]{_ANY}",
            _worded(
                lambda: _(
                    "The wavelengths must rise from 400 to 700 nm in steps of 20 nm at most."
                )
            ),
        ),
        (
            rf"(reflectance{_ANY}|{_ANY} \[unitless\] (holds|must lie|must be num){_ANY})",
            _worded(lambda: _("Reflectance must be a number from 0 to 1 for each wavelength.")),
        ),
        (
            r"(?P<name>[\s\S]+?) \[[^\]]*\] must be (whole, )?within (?P<low>-?[\d.e+]+?)"
            rf"\.\.(?P<high>-?[\d.e+]+), given {_ANY}",
            _range,
        ),
        (rf"(?P<name>[\s\S]+?) \[[^\]]*\] must be a number, given {_ANY}", _no_number),
    )
]
