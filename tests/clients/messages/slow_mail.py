"""A mail backend that writes what it hands over to a file, and hangs where it is told to.

`MAIL_FILE` names the file. With `HANG_AT=2` the second mail is handed over and then nothing
more happens, as when a mail server never answers.
"""

import os
import signal
from collections.abc import Sequence
from pathlib import Path

from django.core.mail import EmailMessage
from django.core.mail.backends.base import BaseEmailBackend


class Backend(BaseEmailBackend):
    """One line, the Message-ID, for each mail that has left."""

    def send_messages(self, email_messages: Sequence[EmailMessage]) -> int:
        path = Path(os.environ["MAIL_FILE"])
        for message in email_messages:
            with path.open("a") as file:
                file.write(f"{message.extra_headers['Message-ID']}\n")
            if len(path.read_text().splitlines()) == int(os.environ.get("HANG_AT", "0")):
                signal.pause()  # until the test kills this process
        return len(email_messages)
