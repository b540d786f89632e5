"""Who may do what to a visit: pairs of can_ and check_."""

from django.core.exceptions import PermissionDenied
from django.utils.translation import gettext as _

from consult.models import Visit
from consult.refusals import Refused
from salon.access import BENCH
from salon.models import Staff


class VisitEnded(Refused):
    """Raised when a visit that has ended would be changed."""


def can_work_on(*, by: Staff, visit: Visit) -> bool:
    """Return whether someone may work on a visit: stylists and owners of its salon."""
    return by.role in BENCH and by.salon_id == visit.salon_id


def check_can_see(*, by: Staff, visit: Visit) -> None:
    """Refuse someone who may not even look at a visit's steps."""
    if not can_work_on(by=by, visit=visit):
        raise PermissionDenied(_("Only the bench works on a visit."))


def check_can_work_on(*, by: Staff, visit: Visit) -> None:
    """Refuse someone who may not work on a visit, and anyone once it has ended."""
    check_can_see(by=by, visit=visit)
    if visit.has_ended:
        raise VisitEnded(_("This visit has ended; its record is kept as it is."))
