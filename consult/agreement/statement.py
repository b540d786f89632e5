"""What a place on the trade-off means, in plain words with this hair's numbers.

Wording that a client signs: a change of it raises `VERSION`, which the sign-off freezes.
"""

from collections.abc import Mapping

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from consult import zones
from consult.agreement.wished_depth import colour_name
from formulas import warmth_words
from formulas.snapshots import Outlook

VERSION = "1.5"
# Two parts of a head that end further apart than an eye reads levels.
MOST_APART = 0.5
# An eye reads levels in halves: further off, hair does not look like what it was lifted to.
EYE_STEP = 0.5
# From where on two parts look slightly and plainly unlike, in CIEDE2000 (common practice for
# textiles passes 1 to 2; for hair no source).
SLIGHTLY_UNLIKE, PLAINLY_UNLIKE = 2.5, 5.0
# How far off the warm direction a lean is foreseen, and plainly seen, in units of a*b* (the
# engine calls a cast from 5 on).
CAST_LEAN, CAST_SEEN = 2.5, 5.0


def one_decimal(value: float) -> str:
    """Return a number with one decimal in the reader's own digits; a true minus sign."""
    return number_format(round(value, 1) + 0.0, 1).replace("-", "−")


def whole(value: float) -> str:
    """Return a whole number in the reader's own digits; a true minus sign."""
    return number_format(round(value) + 0, 0, force_grouping=True).replace("-", "−")


def tied(text: str) -> str:
    """Return a sentence whose per cent signs stay with their numbers at a line's end.

    Not written into the sentences: xgettext leaves an escape in them as it stands, and the
    catalogue would never match.
    """
    return text.replace(" %", "\u00a0%")


def half_level(value: float) -> str:
    """Return a level rounded to the half steps that an eye reads."""
    return number_format(round(value * 2) / 2, 1)


def values_of(*, key: str, lifted_level: float, predicted: Outlook) -> dict[str, str]:
    """Return this hair's numbers in the reader's own digits, by the names that wordings use."""
    warmth = predicted["warmth_left_percent"]
    deeper = predicted["levels_deeper_looks"]
    return {
        "zones": zones.title(key),
        "lifted": one_decimal(lifted_level),
        "lifted_words": _lifted(lifted_level, predicted),
        "warmth_words": _warmth(predicted),
        "warmth": whole(_shown(warmth["value"])),
        "warmth_low": whole(_shown(warmth["low"])),
        "warmth_high": whole(_shown(warmth["high"])),
        "deeper": one_decimal(deeper["value"]),
        "deeper_low": one_decimal(deeper["low"]),
        "deeper_high": one_decimal(deeper["high"]),
        "level": one_decimal(level_after(lifted_level, predicted)),
        "damp": one_decimal(max(predicted["damp_levels_deeper"]["value"], 0.0)),
    }


def _shown(percent: float) -> float:
    """Return a warmth that own words put beside a per cent sign: between neutral and all."""
    return min(max(percent, 0.0), 100.0)


def built_in(values: Mapping[str, str]) -> str:
    """Say what will come out of it, and that it cannot be both cooler and lighter."""
    sentences = [
        _("%(zones)s: %(lifted)s.")
        % {"zones": values["zones"], "lifted": values["lifted_words"]},
        values["warmth_words"],
        _("It will look about %(deeper)s levels deeper than now (%(low)s to %(high)s).")
        % {
            "deeper": values["deeper"],
            "low": values["deeper_low"],
            "high": values["deeper_high"],
        },
        _("Dry, it will look about as dark as natural hair at level %(level)s.")
        % {"level": values["level"]},
        _("Damp, at the basin, it looks about another %(damp)s levels deeper.")
        % {"damp": values["damp"]},
    ]
    return " ".join(sentences)


def level_now(lifted_level: float, predicted: Outlook) -> float:
    """Return the level that the hair looks like before the toner.

    That is the one it was lifted to, but where much of it is white, or toner is still in it:
    what comes out is judged against natural hair, and is so much less deep than it looks now.
    """
    looks = _shown_level(predicted["level"]["value"]) + _deeper(predicted)
    return round(looks, 1) if abs(looks - float(lifted_level)) > EYE_STEP else lifted_level


def level_after(lifted_level: float, predicted: Outlook) -> float:
    """Return the level that a place ends at: now less deeper, as the sentence says them."""
    return _shown_level(level_now(lifted_level, predicted) - _deeper(predicted))


def _deeper(predicted: Outlook) -> float:
    return round(float(predicted["levels_deeper_looks"]["value"]), 1)


def _shown_level(level: float) -> float:
    return round(max(float(level), 1.0), 1)


def _lifted(lifted_level: float, predicted: Outlook) -> str:
    """Say what the hair was lifted to, and what it looks like where that is another level."""
    now = level_now(lifted_level, predicted)
    named = {"level": one_decimal(lifted_level), "now": one_decimal(now)}
    if now == lifted_level:
        return _("lifted to level %(level)s") % named
    return _("lifted to level %(level)s, it looks like level %(now)s now") % named


def looks_now(lifted_level: float, predicted: Outlook) -> str:
    """Return the level that the hair looks like where it is not the lifted one, or nothing."""
    now = level_now(lifted_level, predicted)
    if now == lifted_level:
        return ""
    return _("Before the toner it looks like level %(level)s.") % {"level": one_decimal(now)}


def wish(wanted_level: float | None) -> str:
    """Return the depth that the client asked for, or an empty string."""
    if wanted_level is None:
        return ""
    return _("You asked for hair as dark as natural %(colour)s.") % {
        "colour": colour_name(wanted_level)
    }


def lean(predicted: Outlook) -> str:
    """Return which way off the warm direction the hair will lean, or an empty string."""
    cast = float(predicted.get("cast", 0.0))
    if abs(cast) <= CAST_LEAN:
        return ""
    if cast > 0:
        return (
            _("It may lean slightly towards green.")
            if cast <= CAST_SEEN
            else _("It will lean towards green.")
        )
    return (
        _("It may lean slightly towards violet.")
        if -cast <= CAST_SEEN
        else _("It will lean towards violet.")
    )


def apart(levels: Mapping[str, float]) -> str:
    """Return that parts of one head end unlike each other, or an empty string.

    `levels` are those that the statements name, by group of zones.
    """
    if not levels or max(levels.values()) - min(levels.values()) <= MOST_APART + 1e-6:
        return ""
    named = ", ".join(
        _("%(zones)s level %(level)s")
        % {"zones": zones.words(key), "level": one_decimal(level)}
        for key, level in levels.items()
    )
    return _("The parts of the hair will not be equally light: %(levels)s.") % {"levels": named}


def unlike(difference: float) -> str:
    """Return that the parts will not look alike (CIEDE2000), or an empty string."""
    if difference > PLAINLY_UNLIKE:
        return _("Next to each other the parts will look different.")
    if difference > SLIGHTLY_UNLIKE:
        return _("Next to each other the parts may look slightly different.")
    return ""


def _warmth(predicted: Outlook) -> str:
    """Say the warmth that stays, with its range; of hair that shows little of it in words."""
    value = float(predicted["warmth_left_percent"]["value"])
    start = warmth_words.start_of(predicted)
    values = {
        "warmth": warmth_words.short(value, **start),
        "range": warmth_words.range_of(predicted),
    }
    if value < -warmth_words.NEUTRAL_PERCENT:
        text = _("No warmth is left, and the hair looks slightly ashy (likely: %(range)s).")
    elif warmth_words.in_words(value, **start):
        text = _("The hair will look %(warmth)s (likely: %(range)s).")
    elif value <= warmth_words.NEUTRAL_PERCENT:
        text = _(
            "Hardly any of the warmth you see now is left: %(warmth)s (likely: %(range)s)."
        )
    else:
        text = _("About %(warmth)s of the warmth you see now is left (likely: %(range)s).")
    return tied(text % values)


def understandings() -> list[str]:
    """Return what the client agrees to have understood, beside the numbers."""
    return [
        _(
            "Toner takes warmth out by adding the opposite colour. That also takes "
            "light away: cooler hair always looks deeper. No toner can make hair "
            "cooler and keep it as light as before."
        ),
        _(
            "These are predictions, so they come with a range. Screens differ. A "
            "strand test on my own hair decides."
        ),
        _("Toner fades with washing, and the warmth comes back."),
        _(
            "My answers to today's safety questions are true. A clear skin test "
            "makes a reaction less likely but does not rule one out. I will say at "
            "once if anything burns or itches."
        ),
    ]
