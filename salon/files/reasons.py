"""Why a file was not made, by code, in the reader's language."""

from django.utils.translation import gettext_noop

REASONS = {
    "forbidden": gettext_noop("You may no longer have it."),
    "gone": gettext_noop("What it is about is no longer there."),
    "fault": gettext_noop("Something went wrong. The server’s log says what."),
    "worker": gettext_noop("The background worker stopped each time while it was at it."),
    "lost": gettext_noop("It was stored, but cannot be read any more. Prepare it again."),
}
