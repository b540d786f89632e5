"""Django's SMTP backend, with a connection that knows whether it handed a mail over."""

import smtplib
from typing import Any

from django.core.mail.backends import smtp


class PerhapsSent(smtplib.SMTPException):
    """The connection broke after the text was handed over: the server may have taken it."""


class _Knowing:
    """Tells a break before a mail's text went out from one after it."""

    _has_begun = False

    def send(self, s: Any) -> None:
        """Send a command (text) or a mail (bytes)."""
        self._has_begun = self._has_begun or isinstance(s, bytes)
        super().send(s)  # type: ignore[misc]

    def data(self, msg: Any) -> tuple[int, bytes]:
        """Hand the text over; a break after its first byte is a doubt, not a failure."""
        self._has_begun = False
        try:
            answer: tuple[int, bytes] = super().data(msg)  # type: ignore[misc]
        except smtplib.SMTPDataError:
            raise  # it answered: not now, or never
        except OSError as error:
            if self._has_begun:
                raise PerhapsSent(type(error).__name__) from error
            raise
        return answer


class _Plain(_Knowing, smtplib.SMTP):
    pass


class _Ssl(_Knowing, smtplib.SMTP_SSL):
    pass


class Backend(smtp.EmailBackend):
    """What the product sends by; the certificate of the server is verified."""

    _partial_connection: smtplib.SMTP | None  # Django's own

    @property
    def connection_class(self) -> type[smtplib.SMTP]:
        """The class of its connections."""
        return _Ssl if self.use_ssl else _Plain

    def open(self) -> bool | None:
        """Connect; what fails on the way leaves no connection behind."""
        try:
            return super().open()
        except OSError:
            if self._partial_connection is not None:
                self._partial_connection.close()
                self._partial_connection = None
            raise
