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


@register.inclusion_tag("components/step_help.html")
def step_help(page: str) -> dict[str, Any]:
    """Draw the "?" of a visit's step: its explanation and its words, one press away."""
    return {"help": HELPS.get(page), "words": [BY_KEY[key] for key in ON_PAGE.get(page, ())]}
