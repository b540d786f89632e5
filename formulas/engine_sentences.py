"""The engine's sentences, by code, in the reader's language."""

import math
from collections.abc import Mapping

from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from formulas.engine import Sentence
from formulas.snapshots import StoredSentence

# Looked up in the reader's language when one is shown: most pages show a few of them.
_WORDS = {
    "clear_only": gettext_lazy("Clear on its own adds shine but takes out no warmth."),
    "no_opposite": gettext_lazy(
        "This mix does not counteract the warmth, however much you apply."
    ),
    "enough": gettext_lazy("It has the pigment this warmth needs."),
    "lighter_than_lifted": gettext_lazy(
        "Lighter than the lifted level: it has %(share)s of the pigment needed."
    ),
    "partly": gettext_lazy("It has %(share)s of the pigment needed to take the warmth out."),
    "little_warmth": gettext_lazy(
        "This hair shows little warmth to begin with: it starts below 100 %%."
    ),
    "ash": gettext_lazy("It goes past neutral: the result will look ash."),
    "green_cast": gettext_lazy("It will lean towards green."),
    "red_cast": gettext_lazy("It leans towards red-violet."),
    "green_lean": gettext_lazy("It leans slightly towards green."),
    "red_lean": gettext_lazy("It leans slightly towards red-violet."),
    "build_up": gettext_lazy(
        "Toner from the last visit is still there; the new one adds to it."
    ),
    "short_time": gettext_lazy(
        "Rinsed before the line's %(minutes)s minutes are up, hair takes less."
    ),
    "porous": gettext_lazy("Porous hair takes toner faster and deeper, and loses it sooner."),
    "resistant": gettext_lazy("Hair with low porosity takes less in the same time."),
    "white": gettext_lazy("%(percent)s %% white: white hair shows the tone most clearly."),
    "long_time": gettext_lazy(
        "After the line's %(minutes)s minutes hardly any more is taken up."
    ),
    "damp": gettext_lazy("Damp, it looks about %(levels)s levels deeper than dry."),
    "neutral_alone": gettext_lazy(
        "A neutral on its own deepens more than it cools; the opposite tone takes warmth out."
    ),
    "adds_warmth": gettext_lazy("It adds warmth."),
    "no_deposit": gettext_lazy("Nothing has been taken up yet."),
    "repeat": gettext_lazy("The same mix gives the same look again."),
    "correct": gettext_lazy("The same mix would not give the same look now: adjust it."),
    "repeat_builds_up": gettext_lazy(
        "If you repeat it, it builds up: after %(visits)s more visits it would "
        "look %(levels)s levels deeper than this time."
    ),
    "takes_more": gettext_lazy("This hair took about %(percent)s %% more than usual."),
    "takes_less": gettext_lazy("This hair took about %(percent)s %% less than usual."),
    "one_bowl": gettext_lazy("One bowl serves all zones."),
    "separate_bowls": gettext_lazy("One bowl would not suit the %(zone)s: mix separate bowls."),
    "shorter_there": gettext_lazy(
        "The %(zone)s take more: apply there only for the last %(minutes)s minutes."
    ),
    "shorter_or_thinner_there": gettext_lazy(
        "The %(zone)s take more: put it on there for the last %(minutes)s minutes, or "
        "thin the mix with %(clear_parts)s parts of clear to one."
    ),
    "on_aim": gettext_lazy("It gives the chosen warmth."),
    "off_aim": gettext_lazy("It misses the chosen warmth by %(percent)s %%."),
    "near_limit": gettext_lazy("Hardly any mix could be lighter at this warmth."),
    "above_limit": gettext_lazy(
        "%(levels)s levels deeper than the lightest result that is possible."
    ),
    "one_shade": gettext_lazy("Only one shade."),
    "several_shades": gettext_lazy("%(shades)s shades in one bowl."),
    "bowls_in_stock": gettext_lazy("There is enough in stock for %(bowls)s such bowls."),
    "cost": gettext_lazy("One bowl costs %(cost)s."),
    "last_bowl": gettext_lazy("There is enough in stock for only one such bowl."),
    "why_forgiving": gettext_lazy("Forgiving: a small slip at the bench hardly shows."),
    "why_nearest": gettext_lazy("No other mix that follows your practice comes as close."),
    "why_even": gettext_lazy("It brings this part to the colour of the whole."),
    "why_nearest_to_whole": gettext_lazy(
        "No other mix that follows your practice brings this part closer to the whole."
    ),
    "why_most_forgiving": gettext_lazy(
        "Of the mixes that look the same, this one is the most forgiving."
    ),
}


def translated(sentence: Sentence) -> str:
    """Return a sentence of the engine for the screen."""
    return in_words(sentence.code, sentence.values, fallback=sentence.text)


def coded(sentence: Sentence) -> StoredSentence:
    """Return what is stored of a sentence: its words are made when it is shown."""
    values: dict[str, float | str] = {
        name: value if isinstance(value, str) else round(float(value), 3)
        for name, value in sentence.values.items()
    }
    return {"code": sentence.code, "values": values}


def of_stored(stored: StoredSentence | str) -> str:
    """Return the words of a stored sentence; before codes were stored, it is words already."""
    return stored if isinstance(stored, str) else in_words(stored["code"], stored["values"])


def in_words(code: str, values: Mapping[str, float | str], *, fallback: str = "") -> str:
    """Return the words of a code with its values; the engine's English where it is new."""
    if code not in _WORDS:
        return fallback
    shown = {name: _number(name, value) for name, value in values.items()}
    shown["share"] = _share(float(values["share"])) if "share" in values else ""
    return str(_WORDS[code]) % shown


_DECIMALS = {"levels": 1, "cost": 2, "clear_parts": 1}


def _number(name: str, value: float | str) -> str:
    if isinstance(value, str):
        return _zone(value) if name == "zone" else value
    places = _DECIMALS.get(name, 0)
    whole = math.floor(value) if name == "bowls" else value
    return number_format(round(float(whole), places) + 0.0, places)


def _zone(zone: str) -> str:
    words = {"roots": _("roots"), "mid_lengths": _("mid-lengths"), "ends": _("ends")}
    named = [words.get(part, part) for part in zone.split(",")]
    if len(named) == 2:
        return _("%(first)s and %(second)s") % {"first": named[0], "second": named[1]}
    return ", ".join(named)


def _share(share: float) -> str:
    steps = [
        (0.07, _("less than a tenth")),
        (0.15, _("about a tenth")),
        (0.29, _("about a quarter")),
        (0.42, _("about a third")),
        (0.58, _("about half")),
        (0.8, _("about two thirds")),
    ]
    return next((words for limit, words in steps if share < limit), _("nearly all"))
