"""The link by which a client ends reminders: signed, without a password and without an end.

The register knows one preference for reminders, so the link ends them all. A message about a
skin test is no reminder and still comes (`reminder_rules.may_end`). The link names an entry of
the register by number and nothing else of the person.
"""

from django.conf import settings
from django.core import signing
from django.urls import reverse

from clients.models import Client
from salon.numbers import row_number

_SIGNER = "clients.opt_out"


def token_of(client: Client) -> str:
    """Return what proves that its holder was sent this client's mail."""
    return signing.Signer(salt=_SIGNER).sign(str(client.pk))


def client_of(token: str) -> Client | None:
    """Return whose token it is; None where it is broken or the entry is gone."""
    try:
        pk = row_number(signing.Signer(salt=_SIGNER).unsign(token))
    except signing.BadSignature:
        return None
    if pk is None:
        return None
    return Client.objects.select_related("salon").filter(pk=pk).first()


def address_of(client: Client) -> str:
    """Return the whole address, as a mail shows it."""
    path = reverse("clients:stop_reminders", args=[token_of(client)])
    return f"{settings.SITE_URL.rstrip('/')}{path}"
