"""Records that are only stored: restricted or erased. Nobody works with them."""

from django.core.exceptions import PermissionDenied
from django.utils.translation import gettext as _

from clients.models import Client, Shut


class RecordShut(PermissionDenied):
    """Raised where somebody would look at, or work with, a record that is only stored."""


def check_not_shut(client: Client) -> None:
    """Refuse a client whose record is restricted, or whose data were erased."""
    if client.shut == Shut.ERASED:
        raise RecordShut(_("The data of this client were erased."))
    if client.shut == Shut.RESTRICTED:
        raise RecordShut(
            _("This record is shut: its data are only stored. Only an owner can open it again.")
        )
