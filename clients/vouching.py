"""What one person alone may not do: an owner does it, or a second person confirms it."""

from django.utils.translation import gettext as _

from salon.access import DESK
from salon.models import Staff
from salon.policies import can, is_owner
from salon.refusals import Refused


class NeedsSecondPerson(Refused):
    """Raised where an owner or a second person must confirm, or the reason is missing."""


def check_vouched(*, by: Staff, witness: Staff | None, reason: str | None = None) -> None:
    """Refuse what neither an owner does nor a second person confirms.

    `witness` is a colleague whose PIN was compared just now; a reason that is asked for must
    not be empty.
    """
    if reason is not None and not reason.strip():
        raise NeedsSecondPerson(_("Give a reason."), code="no_reason")
    if not (is_owner(by=by) or is_second(witness, by=by)):
        raise NeedsSecondPerson(
            _("You cannot do this alone. Choose a colleague, who enters their PIN."),
            code="alone",
        )


def is_second(witness: Staff | None, *, by: Staff) -> bool:
    """Return whether the witness is another member of the actor's salon at work."""
    return (
        witness is not None
        and witness.pk != by.pk
        and witness.is_active
        and can(by, by=witness, roles=DESK)
    )
