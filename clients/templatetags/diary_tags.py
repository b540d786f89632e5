"""Template tags of the diary."""

from typing import Any

from django import template
from django.template import Context
from django.template.loader import render_to_string
from django.utils.html import format_html
from django.utils.safestring import SafeString

from clients.diary.day_grid import Column, Free

register = template.Library()


@register.simple_tag(takes_context=True)
def free_times(context: Context, column: Column, fragment: str) -> SafeString:
    """Draw the free times of a stylist's column, each as the fragment shows a `gap`.

    A large salon has thousands of them at the same few times: each time is drawn once,
    with gaps for the stylist's id and name, which are then filled in for each column.
    """
    kept: Any = context.render_context  # one template's, while it is drawn
    drawn: dict[Free, str] = kept.setdefault(f"free times as {fragment}", {})
    for gap in column.free:
        if gap not in drawn:
            values = {"gap": gap, "day": context["day"], "grid": context["grid"]}
            placeholders = {"stylist_id": "{0}", "stylist_name": "{1}"}
            drawn[gap] = render_to_string(fragment, {**values, **placeholders}).strip()
    stylist = column.stylist
    return format_html(
        "".join(drawn[gap] for gap in column.free), stylist.pk, stylist.display_name
    )
