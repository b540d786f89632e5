"""Template tags of the formulary: plots, bars, numbers in the reader's own digits."""

from decimal import Decimal
from typing import Any, Literal

from django import template
from django.utils.formats import number_format
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from formulas import engine_sentences, warmth_words
from formulas.drawing import bars, place, spectra
from formulas.explanation import Explanation
from formulas.snapshots import StoredSentence, StoredTerm

register = template.Library()
register.filter("warmth", warmth_words.short_of)
register.filter("warmth_range", warmth_words.range_of)


@register.filter
def sentence_words(stored: StoredSentence | str) -> str:
    """Return a stored sentence of the engine in the reader's language."""
    return engine_sentences.of_stored(stored)


@register.simple_tag
def reflectance_plot(explanation: Explanation) -> SafeString:
    """Draw what the hair sends back before and after."""
    return spectra.reflectance_svg(explanation.wavelengths_nm, explanation.reflectance)


@register.simple_tag
def deposit_plot(explanation: Explanation) -> SafeString:
    """Draw what each shade of the mix absorbs."""
    return spectra.deposit_svg(explanation.wavelengths_nm, explanation.deposit)


@register.simple_tag
def place_plot(explanation: Explanation) -> SafeString:
    """Draw the mix between the shelf's best and the limit."""
    prediction = explanation.prediction
    return place.place_svg(
        limit=explanation.limit,
        mixes=explanation.reachable.mixes,
        warmth=prediction["warmth_left_percent"],
        deeper=prediction["levels_deeper_looks"],
        hex_colour=prediction["dry_hex"],
    )


@register.simple_tag
def stock_bar(share: float) -> SafeString:
    """Draw how full a shelf is; the grams beside it say it in figures."""
    return bars.stock_bar(share)


@register.simple_tag
def swing_bar(value: float, reach: float) -> SafeString:
    """Draw how far something moved the result, to the left for less."""
    return bars.swing_bar(value, reach=reach)


@register.filter
def figure(value: float | Decimal | None, places: int = 0) -> str:
    """Return a number with so many decimals in the reader's own digits; a true minus sign."""
    if value is None:
        return "–"
    rounded = round(float(value), places) + 0.0
    return number_format(rounded, places, force_grouping=True).replace("-", "−")


@register.filter
def signed(value: float, places: int = 0) -> str:
    """Return a number with its sign, plus or minus."""
    words = figure(value, places)
    return words if words.startswith("−") or not float(value) > 0 else f"+{words}"


@register.filter
def on_shelf(grams: Decimal, places: int = 0) -> str:
    """Return what is on the shelf; below zero nobody knows it before it is counted."""
    if grams < 0:
        return _("count it")
    return _("%(grams)s g") % {"grams": figure(float(grams), places)}


@register.filter
def plain(value: Decimal) -> str:
    """Return a number without idle zeros in the reader's own digits."""
    return number_format(value.normalize())


@register.filter
def part_words(part: str) -> str:
    """Return a part of a shade in words: its neutral background, or a family of pigment."""
    words = {
        "neutral": _("neutral background"),
        "tone": _("tone pigment"),
        "yellow": _("yellow pigment"),
        "orange": _("orange pigment"),
        "red": _("red pigment"),
        "violet": _("violet pigment"),
        "blue": _("blue pigment"),
        "green": _("green pigment"),
        "swatch": _("measured swatch"),
        "lift": _("how far it was lifted"),
        "room": _("toner still in the hair"),
    }
    return words.get(part, part)


@register.filter
def reach(terms: list[StoredTerm], name: Literal["warmth_percent", "levels_deeper"]) -> float:
    """Return the largest size of a value among the terms: what a full bar stands for."""
    return max((abs(float(term[name])) for term in terms), default=1.0) or 1.0


@register.filter
def ratio(value: Decimal) -> str:
    """Return the developer ratio as it is spoken at the bench: 1:1.5."""
    return _("1:%(parts)s") % {"parts": number_format(value.normalize())}


@register.filter
def pair(first: Any, second: Any) -> tuple[Any, Any]:
    """Return both, to be gone through in a loop."""
    return first, second
