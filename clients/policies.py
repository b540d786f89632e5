"""Who may do what at the front desk: pairs of can_ and check_.

Every service of this app asks here first: for the role, and for the salon of each record that
it is given. What only an owner may do asks `salon.policies.require_owner`.
"""

from django.core.exceptions import PermissionDenied
from django.utils.translation import gettext as _

from clients.models import Client
from clients.privacy.shut import check_not_shut
from salon.access import BENCH, DESK
from salon.models import Staff
from salon.policies import OfSalon, can, require_owner


def can_work_at_desk(*records: OfSalon | None, by: Staff) -> bool:
    """Return whether someone may keep the diary and the clients of the records' salon."""
    return can(*records, by=by, roles=DESK)


def check_can_work_at_desk(*records: OfSalon | None, by: Staff) -> None:
    """Refuse someone of another salon."""
    if not can_work_at_desk(*records, by=by):
        raise PermissionDenied(_("This belongs to another salon."))
    for record in records:
        if isinstance(record, Client):
            check_not_shut(record)


def check_can_look(*records: OfSalon | None, by: Staff) -> None:
    """Refuse someone of another salon to note a look at a record, also at one that is shut."""
    if not can_work_at_desk(*records, by=by):
        raise PermissionDenied(_("This belongs to another salon."))


def check_may_override(*records: OfSalon | None, by: Staff) -> None:
    """Refuse anyone but an owner: only an owner may allow colour without a valid test."""
    require_owner(*records, by=by)


def can_take_photos(*records: OfSalon | None, by: Staff) -> bool:
    """Return whether someone may take and remove photos: stylists and owners."""
    return can(*records, by=by, roles=BENCH)


def check_can_take_photos(*records: OfSalon | None, by: Staff) -> None:
    """Refuse someone who does not work with the hair of the records' salon."""
    if not can_take_photos(*records, by=by):
        raise PermissionDenied(_("Only stylists and owners can take photos."))


def can_have_calendar(*, by: Staff) -> bool:
    """Return whether someone may have a calendar feed: those who take clients."""
    return can(by=by, roles=BENCH)


def check_can_have_calendar(*, by: Staff) -> None:
    """Refuse someone who takes no clients."""
    if not can_have_calendar(by=by):
        raise PermissionDenied(_("Only stylists and owners have a calendar."))


def can_import_lists(*records: OfSalon | None, by: Staff) -> bool:
    """Return whether someone may import lists: owners, and receptionists whom one allowed."""
    return by.imports_lists and can(*records, by=by, roles=DESK)


def check_can_import_lists(*records: OfSalon | None, by: Staff) -> None:
    """Refuse whom no owner of the records' salon has allowed to import lists."""
    if not can_import_lists(*records, by=by):
        raise PermissionDenied(
            _("Only an owner can do this, or a receptionist whom the owner allows to.")
        )
