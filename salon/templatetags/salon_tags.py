"""Small tags that every app's forms use."""

import uuid
from typing import Any

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from salon.submissions import FIELD

register = template.Library()


@register.simple_tag(takes_context=True)
def once(context: dict[str, Any]) -> SafeString:
    """Draw the hidden field of `salon.submissions.once`; a resent form keeps its key."""
    request = context.get("request")
    key = request.POST.get(FIELD) if request is not None else None
    return format_html('<input type="hidden" name="{}" value="{}">', FIELD, key or uuid.uuid4())
