"""Small tags that every app's forms use."""

import uuid
from typing import Any

from django import template
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from salon import logo
from salon.models import Salon
from salon.submissions import FIELD

register = template.Library()
_LOGO = '<img class="card-head__logo" src="{}" alt="{}">'


@register.simple_tag(takes_context=True)
def once(context: dict[str, Any]) -> SafeString:
    """Draw the hidden field of `salon.submissions.once`; a resent form keeps its key."""
    request = context.get("request")
    key = request.POST.get(FIELD) if request is not None else None
    return format_html('<input type="hidden" name="{}" value="{}">', FIELD, key or uuid.uuid4())


@register.simple_tag
def paper_logo(salon: Salon) -> SafeString | str:
    """Draw the salon's logo on paper; nothing where it has none."""
    data = logo.as_data(salon)
    return format_html(_LOGO, data, salon.name) if data else ""


@register.simple_tag
def sign_in_logo() -> str:
    """Return the address of the logo where one signs in; empty where there is none."""
    found = logo.of_this_place()
    return f"{reverse('salon:logo')}?{found.changed_at:%s}" if found else ""
