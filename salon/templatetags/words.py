"""Tags for beginners: the words of a page, and its short explanation."""

from typing import Any

from django import template

from salon.helps import HELPS
from salon.words import BY_KEY, ON_PAGE

register = template.Library()


@register.inclusion_tag("components/words.html")
def words_here(page: str) -> dict[str, Any]:
    """Draw the terms that a page brings up, each to be pressed for its meaning."""
    return {"words": [BY_KEY[key] for key in ON_PAGE.get(page, ())]}


@register.inclusion_tag("components/page_help.html", takes_context=True)
def page_help(context: dict[str, Any], page: str) -> dict[str, Any]:
    """Draw a page's explanation, or the button that brings it back to who put it away."""
    request = context["request"]
    return {
        "help": HELPS.get(page),
        "is_open": page not in request.user.helps_put_away,
        "next": request.path,
        "csrf_token": context.get("csrf_token"),
    }
