"""What a page of a visit hands to its scripts."""

from typing import Any

from django import template

from consult.screens import drafts

register = template.Library()


@register.simple_tag(takes_context=True)
def local_secret(context: dict[str, Any]) -> str:
    """Return what the key for unsent text is made from; it dies with the session."""
    return drafts.local_secret(context["request"])
