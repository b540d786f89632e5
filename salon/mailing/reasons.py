"""Why a mail has not left, by code, in the reader's language."""

from django.utils.translation import gettext_noop

REASONS = {
    "unreachable": gettext_noop("the mail server cannot be reached"),
    "silent": gettext_noop("the mail server does not answer in time"),
    "busy": gettext_noop("the mail server asks to try again later"),
    "later": gettext_noop("the mail server asks to try this address again later"),
    "login": gettext_noop("the mail server does not accept its user name or password"),
    "certificate": gettext_noop("the mail server’s certificate is not trusted"),
    "no_tls": gettext_noop("the mail server does not encrypt"),
    "address": gettext_noop("the mail server says that this address takes no mail"),
    "rejected": gettext_noop("the mail server does not take this mail"),
    "no_server": gettext_noop("no mail server is set up"),
    "dropped": gettext_noop("the connection broke after the mail was handed over"),
    "worker": gettext_noop("the worker stopped while the mail was on its way"),
    "fault": gettext_noop("a fault in this program kept it from being written"),
    "paper": gettext_noop("the page does not fit onto its paper"),
    "unwanted": gettext_noop("it is no longer wanted at this address"),
    "expired": gettext_noop("it could not be sent in time"),
}
