"""The last tone, for the client's page at the front desk."""

from typing import Any

from django import template

from clients.models import Client
from consult.history import histories
from consult.models import Visit
from salon.access import BENCH

register = template.Library()


@register.inclusion_tag("consult/_last_tone.html", takes_context=True)
def last_tone(context: dict[str, Any], client: Client) -> dict[str, Any]:
    """Draw what was last mixed for a client, in words; nothing where there was no tone."""
    records = histories.records_of(histories.tones_of(client)[:1])
    request = context["request"]
    at_bench = request.user.role in BENCH
    return {
        "now": Visit.objects.of_person(client).open().first() if at_bench else None,
        "last": records[0] if records else None,
        "request": request,
        "client": client,
    }
