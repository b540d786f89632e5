"""What the owner's tables draw: means with their doubt, in words and as a plot."""

from django import template
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from consult.history.findings import in_words
from consult.history.needs import signed
from consult.history.tendencies import Tendency
from salon.drawing.intervals import interval_svg

register = template.Library()


@register.simple_tag
def tendency_words(tendency: Tendency | None, number: str) -> str:
    """Say a mean with its range and what it rests on."""
    if tendency is None:
        return _("no result yet")
    places = 2 if number == "depth" else 0
    return _("%(mean)s (%(low)s to %(high)s), n = %(n)s, %(clients)s clients") % {
        "mean": signed(tendency.mean, places),
        "low": signed(tendency.low, places),
        "high": signed(tendency.high, places),
        "n": tendency.results,
        "clients": tendency.clients,
    }


@register.simple_tag
def interval(tendency: Tendency | None, number: str, reach: float) -> SafeString | str:
    """Draw a mean with its range on a column's common scale."""
    if tendency is None:
        return ""
    return interval_svg(
        tendency.mean, tendency.low, tendency.high, reach=reach, is_off=tendency.is_off,
        label=in_words(tendency.mean, number),
    )  # fmt: skip


@register.filter
def error_words(value: float, number: str) -> str:
    """Say an error: "0.4 levels deeper"."""
    return in_words(value, number)
