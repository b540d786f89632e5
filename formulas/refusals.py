"""The engine's refusals in the reader's language, by their codes.

The engine raises `EngineRefusal` with a code, values and an English sentence for programmers,
which names arguments and units. What can reach a screen is worded here in the words of the
screens; whatever else comes says only that the numbers cannot be worked with.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from formulas.engine import EngineRefusal
from salon.refusals import Refused

Found = Mapping[str, float | str]


@contextmanager
def refused_as(kind: type[Refused]) -> Iterator[None]:
    """Raise what the engine or the mixing refuses as a refusal of `kind`, in words."""
    try:
        yield
    except (ValueError, Refused) as error:
        raise kind(in_words(error), code=getattr(error, "code", "")) from error


def in_words(error: ValueError | Refused) -> str:
    """Return a refusal for the screen; one that is worded already stays as it is."""
    if isinstance(error, EngineRefusal) and error.code in WORDINGS:
        return WORDINGS[error.code](error.values)
    if type(error) not in (ValueError, EngineRefusal):  # a refusal of the product's own
        return str(error)
    return _("These numbers cannot be used. Check them.")


def named(argument: float | str) -> str:
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
    whole = str(argument)
    first = re.split(r"[ \[]", whole)[0]
    return words.get(whole) or words.get(first) or _("A number")


def _number(number: float | str) -> str:
    value = float(number)
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


def _no_shade(found: Found) -> str:
    return _("This line has no shade called %(name)s.") % {"name": found["name"]}


def _needs_level(found: Found) -> str:
    return _("%(name)s has tone pigments. Give it a level from 1 to 10.") % {
        "name": found["name"]
    }


WORDINGS: Mapping[str, Callable[[Found], str]] = {
    "range": _range,
    "no_number": _no_number,
    "not_lighter": _not_lighter,
    "not_warmer": _not_warmer,
    "no_such_shade": _no_shade,
    "needs_level": _needs_level,
    "lightness": lambda _found: _("L* (lightness) must be between 0 and 100."),
    "no_surface": lambda _found: _("No surface can have this colour. Check L*, a* and b*."),
    "no_colour": lambda _found: _("A colour needs three plain numbers: L*, a* and b*."),
    "stock_too_short": lambda _found: _(
        "There is not enough in stock for this bowl. Receive stock, or choose a smaller bowl "
        "or another line."
    ),
    "only_clear": lambda _found: _(
        "Only clear is in stock. A toner needs at least one shade with pigment."
    ),
    "no_shade_in_use": lambda _found: _("This line has no shade in use."),
    "no_parts": lambda _found: _("Enter parts for at least one shade."),
    "no_name": lambda _found: _("Enter a name."),
    "wavelengths": lambda _found: _(
        "The wavelengths must rise from 400 to 700 nm in steps of 20 nm at most."
    ),
    "no_reflectance": lambda _found: _(
        "Reflectance must be a number from 0 to 1 for each wavelength."
    ),
}
