"""The backend where no mail server is set: every mail fails instead of seeming to have left."""

from collections.abc import Sequence
from typing import NoReturn

from django.conf import settings
from django.core.mail import EmailMessage
from django.core.mail.backends.base import BaseEmailBackend

# They take a mail and send it nowhere.
NOWHERE = ("console", "dummy", "filebased", "locmem")


class NoMailServer(OSError):
    """Raised by each attempt to send, as a mail server's refusal would be."""


class NoServer(BaseEmailBackend):
    """Refuses every mail."""

    def send_messages(self, email_messages: Sequence[EmailMessage]) -> NoReturn:
        raise NoMailServer("No mail server is set: EMAIL_URL is empty.")


def has_no_server() -> bool:
    """Return whether mails cannot leave, since none is set up."""
    return settings.EMAIL_BACKEND == "salon.mail.NoServer"


def goes_nowhere() -> bool:
    """Return whether mails would be taken and then sent nowhere."""
    return settings.EMAIL_BACKEND in {
        f"django.core.mail.backends.{name}.EmailBackend" for name in NOWHERE
    }
