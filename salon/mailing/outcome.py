"""What became of one try to send a mail, by the server's answer and when it broke off.

RFC 5321, 4.2.1: 4yz is a refusal for now, 5yz for good; 3.8: 421 may come at any time. A mail
whose end-of-data was not answered may or may not have been taken (RFC 1047).
"""

import smtplib
import ssl
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.core.mail import EmailMessage

from salon.mail import NoMailServer
from salon.mailing.smtp import PerhapsSent
from salon.models import LetterState

CLOSING = 421


@dataclass(frozen=True)
class Outcome:
    """A state that a letter goes to: WAITING where the try may be repeated."""

    state: LetterState
    reason: str = ""
    reply_code: int | None = None

    @property
    def is_of_server(self) -> bool:
        """Whether it waits for the server, so that no other mail can leave now either."""
        return self.state == LetterState.WAITING and self.reason != "later"


def hand_over(message: EmailMessage) -> Outcome:
    """Try once to send a mail; no failure of a server is raised."""
    try:
        message.send()
    except (OSError, ValueError) as error:
        return of_error(error)
    return Outcome(LetterState.SENT)


def of_error(error: Exception) -> Outcome:
    """Return what became of a try that ended with an error."""
    return next(of(error) for kinds, of in _OUTCOMES if isinstance(error, kinds))


def _answered(code: int, reason: str) -> Outcome:
    if code < 500:
        return Outcome(LetterState.WAITING, "busy", code)
    return Outcome(LetterState.REFUSED, reason, code)


def _address(error: Any) -> Outcome:
    """Return a refusal of the address; 421 is about the whole server, whatever it is at."""
    code = min(code for code, _words in error.recipients.values())
    if code < 500 and code != CLOSING:
        return Outcome(LetterState.WAITING, "later", code)
    return _answered(code, "address")


def _broken_off(error: Exception) -> Outcome:
    is_silent = isinstance(error, TimeoutError) or "timed out" in str(error)
    return Outcome(LetterState.WAITING, "silent" if is_silent else "unreachable")


def _waits(reason: str) -> Callable[[Any], Outcome]:
    return lambda error: Outcome(LetterState.WAITING, reason, getattr(error, "smtp_code", None))


# The first that fits. What is not the mail's fault waits until the settings are right.
_OUTCOMES: list[tuple[type[Exception] | tuple[type[Exception], ...], Callable[[Any], Outcome]]]
_OUTCOMES = [
    (PerhapsSent, lambda error: Outcome(LetterState.PERHAPS, "dropped")),
    (NoMailServer, lambda error: Outcome(LetterState.REFUSED, "no_server")),
    (smtplib.SMTPRecipientsRefused, _address),
    (smtplib.SMTPAuthenticationError, _waits("login")),
    (smtplib.SMTPConnectError, _waits("busy")),
    (smtplib.SMTPResponseException, lambda error: _answered(error.smtp_code, "rejected")),
    (smtplib.SMTPNotSupportedError, _waits("no_tls")),
    (ssl.SSLCertVerificationError, _waits("certificate")),
    ((TimeoutError, smtplib.SMTPServerDisconnected), _broken_off),
    (OSError, _waits("unreachable")),
    # An address or a header that no mail can carry.
    (ValueError, lambda error: Outcome(LetterState.REFUSED, "rejected")),
]
