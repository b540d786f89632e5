"""Template tags of the visual language: marks, strands, the head, the curve, the diary grid."""

from datetime import datetime

from django import template
from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from salon.drawing.icons import icon_svg
from salon.drawing.strand import strand_svg

register = template.Library()


@register.simple_tag
def icon(name: str) -> SafeString:
    """Draw a mark; the words beside it say what it means."""
    return mark_safe(icon_svg(name))  # noqa: S308 - drawn from fixed parts


@register.simple_tag
def kind_word(kind: str) -> str:
    """Say the kind of an alert in a word, so that its colour and shape are never alone."""
    return {
        "info": _("Note"),
        "good": _("In order"),
        "caution": _("Caution"),
        "stop": _("Stop"),
    }.get(kind, "")


@register.simple_tag
def step_word(state: str) -> str:
    """Say the state of a step on the path of a visit."""
    return {
        "done": _("done"),
        "current": _("you are here"),
        "next": _("not yet"),
        "stopped": _("stopped"),
    }.get(state, "")


@register.simple_tag
def strand(colour: str, damp: bool = False, label: str = "", size: str = "m") -> SafeString:
    """Draw a colour as a lock of hair; for damp hair pass the damp colour and `damp=True`."""
    svg = strand_svg(str(escape(colour)), damp=bool(damp), size=size, label=str(escape(label)))
    return mark_safe(svg)  # noqa: S308 - both values are escaped


@register.simple_tag
def diary_place(starts_at: datetime, ends_at: datetime, opens_at: datetime) -> str:
    """Return the classes that place a block in `.diary`: its first row and how many rows.

    A row is five minutes; `opens_at` is the moment of the first row of the day shown.
    """
    first = int((starts_at - opens_at).total_seconds() // 300) + 1
    rows = max(1, round((ends_at - starts_at).total_seconds() / 300))
    if first < 1:
        rows, first = max(1, rows + first - 1), 1
    return f"r-{min(first, 216)} d-{min(rows, 144)}"
