"""Tags for beginners: the terms of a page, and its short explanation."""

from django import template

from salon.glossary import BY_KEY, ON_PAGE
from salon.helps import HELPS

register = template.Library()


@register.inclusion_tag("components/glossary_terms.html")
def glossary_terms(page: str) -> dict[str, object]:
    """Draw the terms that a page brings up, each to be pressed for its meaning."""
    return {"terms": [BY_KEY[key] for key in ON_PAGE.get(page, ())]}


@register.inclusion_tag("components/step_help.html")
def step_help(page: str) -> dict[str, object]:
    """Draw the "?" of a visit's step: its explanation and its terms, one press away."""
    return {"help": HELPS.get(page), "terms": [BY_KEY[key] for key in ON_PAGE.get(page, ())]}
