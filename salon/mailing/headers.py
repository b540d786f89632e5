"""What every mail of the product carries."""

from email.headerregistry import Address
from email.utils import parseaddr

from django.conf import settings
from django.core.mail import EmailMessage

from salon.models import Salon


def domain() -> str:
    """Return the domain that mails come from."""
    return parseaddr(settings.DEFAULT_FROM_EMAIL)[1].rpartition("@")[2] or "localhost"


def message(
    *, salon: Salon, subject: str, body: str, to: str, key: str, **more: str
) -> EmailMessage:
    """Return a mail in the salon's name, with the headers of one that a program wrote.

    `key` makes its Message-ID, so that a second copy can be known as one; `more` are further
    headers, with underscores for hyphens.
    """
    sender = parseaddr(settings.DEFAULT_FROM_EMAIL)[1]
    name = " ".join(salon.name.split())
    user, _at, host = sender.rpartition("@")
    return EmailMessage(
        subject=" ".join(subject.split()),
        body=body,
        from_email=str(Address(name, user, host)) if user else sender,
        to=[to],
        reply_to=[salon.email] if salon.email else None,
        headers={
            "Message-ID": f"<{key}@{domain()}>",
            "Auto-Submitted": "auto-generated",  # RFC 3834: no holiday answers
            **{name.replace("_", "-"): value for name, value in more.items()},
        },
    )
