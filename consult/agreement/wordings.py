"""The words that a client signs: the salon's own where it has some, else the built-in ones.

Own words name the hair's numbers in braces. They may not leave out the warmth that stays nor
how much deeper it will look, each with its range: that is what is being agreed to.
"""

import string
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, TypedDict

from django.conf import settings
from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from consult.agreement import statement
from consult.models import StatementWording
from formulas.snapshots import Outlook
from salon.models import Salon

if TYPE_CHECKING:
    from django_stubs_ext import StrPromise
else:
    StrPromise = Any


class HairToned(TypedDict):
    """What a statement is about: zones, the level they were lifted to, and what is promised."""

    key: str
    lifted_level: float
    predicted: Outlook


NAMES: dict[str, StrPromise] = {
    "zones": gettext_lazy("which part of the hair"),
    "lifted": gettext_lazy("the level the hair was lifted to"),
    "lifted_words": gettext_lazy(
        "what it was lifted to, and the level it looks like now where much of it is white"
    ),
    "warmth_words": gettext_lazy("a sentence on the warmth left, with its range"),
    "warmth": gettext_lazy("warmth left, in percent"),
    "warmth_low": gettext_lazy("its range, from"),
    "warmth_high": gettext_lazy("its range, to"),
    "deeper": gettext_lazy("how many levels deeper it will look"),
    "deeper_low": gettext_lazy("their range, from"),
    "deeper_high": gettext_lazy("their range, to"),
    "level": gettext_lazy(
        "as dark as this level, dry: the level it looks like now minus the levels deeper"
    ),
    "damp": gettext_lazy("how many levels deeper still when damp"),
}
MUST_NAME = ("deeper", "deeper_low", "deeper_high")
WARMTH = ("warmth", "warmth_low", "warmth_high")
MOST_UNDERSTANDINGS = 8
EXAMPLE: HairToned = {
    "key": "mid_lengths,ends",
    "lifted_level": 8.0,
    "predicted": {
        "level": {"value": 6.6, "low": 6.1, "high": 7.1},
        "warmth_left_percent": {"value": 40.0, "low": 28.0, "high": 52.0},
        "levels_deeper_looks": {"value": 1.4, "low": 0.9, "high": 1.9},
        "damp_levels_deeper": {"value": 1.2, "low": 0.9, "high": 1.5},
    },
}


def in_force(salon: Salon, language: str | None = None) -> StatementWording | None:
    """Return the salon's own words in a language, else its English ones, else None."""
    wanted = known_language(language or translation.get_language())
    rows = StatementWording.objects.filter(
        salon=salon, language__in={wanted, settings.LANGUAGE_CODE}
    ).order_by("number")
    latest = {row.language: row for row in rows}
    return latest.get(wanted) or latest.get(settings.LANGUAGE_CODE)


def known_language(code: str | None) -> str:
    """Return the product's own language nearest to a code; English where there is none."""
    codes = [language for language, _name in settings.LANGUAGES]
    base = (code or "").partition("-")[0]
    near = [
        language for language in codes if language == code or language.partition("-")[0] == base
    ]
    return near[0] if near else settings.LANGUAGE_CODE


def statement_for(
    wording: StatementWording | None,
    *,
    key: str,
    lifted_level: float,
    predicted: Outlook,
    wanted_level: float | None = None,
) -> str:
    """Return what a place means on this hair.

    A wish for depth is in any wording: it is the client's own. So is the level that white hair
    looks like: from the lifted one alone, the levels deeper would not add up.
    """
    values = statement.values_of(key=key, lifted_level=lifted_level, predicted=predicted)
    text = filled(wording.statement, values) if wording else statement.built_in(values)
    named = _named(wording.statement) if wording else {"lifted_words"}
    leaves_out = "lifted_words" not in named and not named.isdisjoint({"lifted", "level"})
    now = statement.looks_now(lifted_level, predicted) if leaves_out else ""
    parts = (text, now, statement.wish(wanted_level), statement.lean(predicted))
    return " ".join(part for part in parts if part)


def understandings(wording: StatementWording | None) -> list[str]:
    """Return what the client agrees to have understood, one sentence each."""
    return lines(wording.understandings) if wording else statement.understandings()


def lines(text: str) -> list[str]:
    """Return the lines of a text that say something."""
    return [line.strip() for line in text.splitlines() if line.strip()]


def frozen(wording: StatementWording | None) -> dict[str, object]:
    """Return which words were signed, and what was understood, for a sign-off's snapshot."""
    return {
        "wording_version": str(wording.number) if wording else statement.VERSION,
        "wording_language": wording.language
        if wording
        else known_language(translation.get_language()),
        "understandings": understandings(wording),
    }


def filled(text: str, values: Mapping[str, str]) -> str:
    """Return a text with its names filled in; it holds no other (`problems_of`)."""
    return string.Formatter().vformat(text, (), values)


def _named(text: str) -> set[str]:
    """Return the names in a text; ValueError where a brace is missing."""
    return {
        name for _text, name, _spec, _how in string.Formatter().parse(text) if name is not None
    }


def problems_of(text: str) -> list[str]:
    """Return what keeps a statement from being signed: unknown, broken or missing names."""
    try:
        named, parts = _named(text), list(string.Formatter().parse(text))
    except ValueError:
        return [_("A brace is missing its partner. If you mean the sign itself, double it.")]
    unknown = sorted(named - set(NAMES))
    if unknown:
        return [_("Unknown: %(names)s") % {"names": _braced(unknown)}]
    if any(spec or how for _text, name, spec, how in parts if name is not None):
        return [_("Write only a name between braces.")]
    missing = [name for name in MUST_NAME if name not in named]
    if missing:
        return [
            _("Say how much deeper it will look, with its range: %(names)s")
            % {"names": _braced(missing)}
        ]
    if "warmth_words" not in named and not set(WARMTH) <= named:
        return [
            _("Say how much warmth is left: %(words)s, or all of %(names)s")
            % {"words": "{warmth_words}", "names": _braced(WARMTH)}
        ]
    return []


def built_in_texts(language: str) -> dict[str, str]:
    """Return the built-in words of a language as an owner may edit them."""
    with translation.override(language):
        return {
            "statement": statement.built_in({name: f"{{{name}}}" for name in NAMES}),
            "understandings": "\n".join(statement.understandings()),
        }


def _braced(names: Iterable[str]) -> str:
    return ", ".join(f"{{{name}}}" for name in names)


def example_values() -> dict[str, str]:
    """Return invented numbers to show a wording with."""
    return statement.values_of(**EXAMPLE)
