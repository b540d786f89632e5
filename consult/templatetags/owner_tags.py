"""What the owner's tables draw: means with their doubt, in words and as a plot."""

from collections.abc import Sequence

from django import template
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from consult.drawing.by_weeks import Bar, by_weeks_svg
from consult.drawing.intervals import interval_svg
from consult.history import fade
from consult.history.error_words import count_words, in_words
from consult.history.needs import signed
from consult.history.tendencies import Tendency

register = template.Library()


@register.simple_tag
def tendency_words(tendency: Tendency | None, number: str) -> str:
    """Say a mean with its range and what it rests on."""
    if tendency is None:
        return _("no result yet")
    places = 2 if number == "depth" else 0
    words = ngettext(
        "%(mean)s (%(low)s to %(high)s), %(n)s, %(clients)s client",
        "%(mean)s (%(low)s to %(high)s), %(n)s, %(clients)s clients",
        tendency.clients,
    )
    return words % {
        "mean": signed(tendency.mean, places),
        "low": signed(tendency.low, places),
        "high": signed(tendency.high, places),
        "n": count_words(tendency.results),
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


@register.simple_tag
def fade_weeks(weeks: fade.Weeks) -> str:
    """Say some weeks: "4 to 5", "11 and more"."""
    if weeks.last is None:
        return _("%(first)s and more") % {"first": weeks.first}
    return pgettext("weeks", "%(first)s to %(last)s") % {
        "first": weeks.first,
        "last": weeks.last,
    }


@register.simple_tag
def fade_mean(mean: fade.Mean, places: int) -> str:
    """Say a mean with the range that holds 19 in 20."""
    return _("%(mean)s (%(low)s to %(high)s)") % {
        "mean": signed(mean.value, places),
        "low": signed(mean.low, places),
        "high": signed(mean.high, places),
    }


# The picture goes on for so many weeks; what lies beyond is drawn at its edge.
PICTURED = 14


@register.simple_tag
def fade_plot(rows: Sequence[fade.Weeks], number: str) -> SafeString:
    """Draw every pair of a result and the next reading, and the means by weeks."""
    is_depth = number == "depth"
    name = "lighter" if is_depth else "warmer"
    dots = [(pair.weeks, getattr(pair, name)) for weeks in rows for pair in weeks.pairs]
    means = [(weeks, getattr(weeks, name)) for weeks in rows]
    bars = [
        Bar(weeks.first, weeks.last or PICTURED, mean.value, mean.low, mean.high)
        for weeks, mean in means
        if mean is not None
    ]
    return by_weeks_svg(
        dots, bars,
        title=_("Lighter again, levels") if is_depth else _("Warmer again, points"),
        across=_("weeks since toning"), weeks=PICTURED,
        step=0.5 if is_depth else 20.0, places=1 if is_depth else 0,
    )  # fmt: skip
