"""Why a mail has not left, by code, in the reader's language."""

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

REASONS: dict[str, Promise | str] = {
    "unreachable": _("the mail server cannot be reached"),
    "silent": _("the mail server does not answer in time"),
    "busy": _("the mail server asks to try again later"),
    "login": _("the mail server does not accept its user name or password"),
    "certificate": _("the mail server’s certificate is not trusted"),
    "no_tls": _("the mail server does not encrypt"),
    "address": _("the mail server says that this address takes no mail"),
    "rejected": _("the mail server does not take this mail"),
    "no_server": _("no mail server is set up"),
    "dropped": _("the connection broke after the mail was handed over"),
    "worker": _("the worker stopped while the mail was on its way"),
    "expired": _("it could not be sent in time"),
}
