"""Warmth as every screen and paper says it: in per cent where that helps, else in words.

A percentage says how much of the warmth that hair shows stays. It is used between neutral (0 %)
and what the hair has now (100 %). Hair that shows little to begin with, such as white hair, and
results past neutral or warmer than before are described in words.
"""

from typing import TypedDict

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from formulas.snapshots import WarmthLeft

NEUTRAL_PERCENT = 10.0
SAME_PERCENT = 10.0
MORE_PERCENT = 105.0
_PREDICTED = "predicted"


class Beginning(TypedDict):
    """The warmth before toning [%], and whether the hair shows little of it."""

    start: float
    little: bool


def in_words(value: float, *, start: float = 100.0, little: bool = False) -> str:
    """Return a warmth in words, or an empty string where a percentage is as good.

    `start` is the warmth before toning, `little` whether the hair shows little of it.
    """
    if value < -NEUTRAL_PERCENT:
        return _("ashy")
    if value > (start + SAME_PERCENT if little else MORE_PERCENT):
        return _("warmer than before")
    if value < 0 or (little and value <= NEUTRAL_PERCENT):
        return _("neutral")
    if not little:
        return ""
    if value >= start - SAME_PERCENT:
        return _("as warm as before")
    return _("less warm than before")


def short(value: float, *, start: float = 100.0, little: bool = False) -> str:
    """Return a warmth as a table says it: "45 %", or in words."""
    return in_words(value, start=start, little=little) or percent(value)


def in_full(value: float, *, start: float = 100.0, little: bool = False) -> str:
    """Return a warmth as it goes into a sentence: "45 % of the warmth left", or in words."""
    words = in_words(value, start=start, little=little)
    return words or _("%(percent)s of the warmth left") % {"percent": percent(value)}


def short_of(predicted: WarmthLeft, seen: float | str | None = _PREDICTED) -> str:
    """Return `short` of a prediction, or of what was seen on that hair, None for nothing."""
    value = _value(predicted, seen)
    return _("not recorded") if value is None else short(value, **start_of(predicted))


def in_full_of(predicted: WarmthLeft, seen: float | str | None = _PREDICTED) -> str:
    """Return `in_full` of a prediction, or of what was seen on that hair, None for nothing."""
    value = _value(predicted, seen)
    return _("not recorded") if value is None else in_full(value, **start_of(predicted))


def range_of(predicted: WarmthLeft) -> str:
    """Return the range of a predicted warmth, each end as `short` says it."""
    warmth, start = predicted["warmth_left_percent"], start_of(predicted)
    ends = {"low": short(warmth["low"], **start), "high": short(warmth["high"], **start)}
    return ends["low"] if ends["low"] == ends["high"] else _("%(low)s to %(high)s") % ends


def start_of(predicted: WarmthLeft) -> Beginning:
    """Return what a prediction says of its start; one made before it did: all its warmth."""
    return {
        "start": float(predicted.get("start_warmth_percent", 100.0)),
        "little": bool(predicted.get("shows_little_warmth", False)),
    }


def percent(value: float) -> str:
    """Return a share between none and all in the reader's own digits."""
    number = number_format(round(min(max(value, 0.0), 100.0)), 0)
    return _("%(number)s %%") % {"number": number}


def _value(predicted: WarmthLeft, seen: float | str | None) -> float | None:
    if seen == _PREDICTED:
        return float(predicted["warmth_left_percent"]["value"])
    return None if seen is None else float(seen)
