"""How a message leaves the house. A channel is a class with `send`; settings name it."""

from typing import Protocol

from django.conf import settings
from django.utils.module_loading import import_string
from django.utils.translation import gettext as _

from clients.messages import opt_out
from clients.models import Client, ContactBy
from salon import languages
from salon.mailing import headers


class Channel(Protocol):
    """Sends one message to one client; raises where it could not be handed over."""

    def reaches(self, client: Client) -> bool:
        """Return whether this channel can reach the client at all."""
        ...

    def written(self, *, client: Client, body: str, may_end: bool) -> str:
        """Return the text as it leaves, with what this channel adds.

        `may_end` says whether the client can end messages of this kind by a link in them.
        """
        ...

    def send(self, *, client: Client, subject: str, body: str, key: str, may_end: bool) -> None:
        """Hand the message over."""
        ...


class EmailChannel:
    """E-mail through Django's backend; the same reminder always has the same Message-ID."""

    def reaches(self, client: Client) -> bool:
        return bool(client.email) and client.contact_by == ContactBy.EMAIL

    def written(self, *, client: Client, body: str, may_end: bool) -> str:
        if not may_end:
            return f"{body}\n"
        with languages.speaking(client.speaks(client.salon)):
            notice = _("Stop reminders: %(address)s") % {"address": opt_out.address_of(client)}
        return f"{body}\n\n{notice}\n"

    def send(self, *, client: Client, subject: str, body: str, key: str, may_end: bool) -> None:
        # RFC 2369; the second turns the first into RFC 8058's one click.
        ending = {
            "List_Unsubscribe": f"<{opt_out.address_of(client)}>",
            "List_Unsubscribe_Post": "List-Unsubscribe=One-Click",
        }
        headers.message(
            salon=client.salon,
            subject=subject,
            body=self.written(client=client, body=body, may_end=may_end),
            to=client.email,
            key=key.replace(":", "."),
            **(ending if may_end else {}),
        ).send()


def channel() -> Channel:
    """Return the channel that the settings name, e-mail where they name none."""
    named = getattr(settings, "REMINDER_CHANNEL", "clients.messages.channels.EmailChannel")
    channel: Channel = import_string(named)()
    return channel
