"""Warmth in words, where a percentage would say nothing.

A percentage says how much of the warmth that hair shows stays. Hair that shows little to begin
with, such as white hair, and results past neutral or warmer than before are told in words.
"""

from collections.abc import Mapping
from typing import Any

from django.utils.formats import number_format
from django.utils.translation import gettext as _

NEUTRAL_PERCENT = 10.0
SAME_PERCENT = 10.0
MORE_PERCENT = 105.0


def in_words(value: float, *, start: float = 100.0, little: bool = False) -> str:
    """Return a warmth in words, or an empty string where a percentage is as good.

    `start` is the warmth before toning, `little` whether the hair shows little of it.
    """
    if value < -NEUTRAL_PERCENT:
        return _("ashy")
    if value > (start + SAME_PERCENT if little else MORE_PERCENT):
        return _("warmer than now")
    if not little:
        return ""
    if value <= NEUTRAL_PERCENT:
        return _("neutral")
    if value >= start - SAME_PERCENT:
        return _("as warm as now")
    return _("less warm than now")


def of_prediction(predicted: Mapping[str, Any], value: float | None = None) -> str:
    """Return the warmth that a prediction leaves, or another seen on that hair."""
    at = float(predicted["warmth_left_percent"]["value"] if value is None else value)
    return in_words(at, **start_of(predicted)) or _("%(percent)s %% warmth") % {
        "percent": percent(at)
    }


def range_of(predicted: Mapping[str, Any]) -> str:
    """Return the range of a predicted warmth, each end in words or in per cent."""
    warmth, start = predicted["warmth_left_percent"], start_of(predicted)
    ends = {
        side: in_words(float(warmth[side]), **start)
        or _("%(percent)s %%") % {"percent": percent(float(warmth[side]))}
        for side in ("low", "high")
    }
    return ends["low"] if ends["low"] == ends["high"] else _("%(low)s to %(high)s") % ends


def start_of(predicted: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a prediction says of its start; one made before it did: all its warmth."""
    return {
        "start": float(predicted.get("start_warmth_percent", 100.0)),
        "little": bool(predicted.get("shows_little_warmth", False)),
    }


def percent(value: float) -> str:
    """Return a whole number in the reader's own digits; a true minus sign."""
    return number_format(round(value) + 0, 0).replace("-", "\N{MINUS SIGN}")
