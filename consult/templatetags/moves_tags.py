"""Copies of records between salons, for the pages of the front desk."""

import datetime as dt
from typing import Any

from django import template

from clients.models import Client, MoveState
from consult.history import from_elsewhere
from salon.access import FRONT
from salon.linked_salons.links import salons_of_same_owner

register = template.Library()


@register.inclusion_tag("consult/_to_receive.html", takes_context=True)
def records_waiting(context: dict[str, Any]) -> dict[str, Any]:
    """Say how many records wait to be received; nothing to who does not receive any."""
    user = context["request"].user
    moves = from_elsewhere.moves_to_receive(user.salon) if user.role in FRONT else []
    return {"count": len(moves)}


@register.inclusion_tag("consult/_received.html")
def received_records(client: Client) -> dict[str, Any]:
    """Draw which copies of other salons' records there are of a client."""
    return {"records": from_elsewhere.copies_of(client)}


@register.inclusion_tag("consult/_moves.html")
def record_moves(client: Client) -> dict[str, Any]:
    """Lead to the copy for another salon, where the owner has another one."""
    others = salons_of_same_owner(client.salon)
    return {"client": client, "others": others, "moves": from_elsewhere.moves_of(client)}


@register.inclusion_tag("consult/_copies_elsewhere.html")
def copies_elsewhere(client: Client) -> dict[str, Any]:
    """Say which salons have a copy of what would be erased here, and whose copies are here."""
    moves = list(from_elsewhere.moves_of(client))
    return {
        "copies": [m for m in moves if m.received and not m.received.deleted_at],
        "waiting": [m for m in moves if m.state == MoveState.WAITING],
        "records": from_elsewhere.copies_of(client),
    }


register.filter("copied_mix", from_elsewhere.mix_words)
register.filter("copied_step", from_elsewhere.step_words)
register.filter("client_word", from_elsewhere.word_of_client)
register.filter("evenness", from_elsewhere.evenness_words)


@register.filter
def iso_moment(text: str) -> dt.datetime:
    """Return a moment from its ISO 8601 text."""
    return dt.datetime.fromisoformat(text)
