"""Who may do what to a visit: pairs of can_ and check_."""

from django.core.exceptions import PermissionDenied
from django.utils.translation import gettext as _

from clients.privacy.shut import check_not_shut
from consult.models import Visit
from salon.access import BENCH, DESK
from salon.models import Staff
from salon.policies import OfSalon, can
from salon.refusals import Refused


class VisitEnded(Refused):
    """Raised when a visit that has ended would be changed."""


def can_work_on(*, by: Staff, visit: Visit) -> bool:
    """Return whether someone may work on a visit: stylists and owners of its salon."""
    return can(visit, by=by, roles=BENCH)


def can_print(record: OfSalon, *, by: Staff) -> bool:
    """Return whether someone may print and mail papers: everyone of the record's salon."""
    return can(record, by=by, roles=DESK)


def check_can_print(record: OfSalon, *, by: Staff) -> None:
    """Refuse someone of another salon."""
    if not can_print(record, by=by):
        raise PermissionDenied(_("This belongs to another salon."))


def check_can_see(*, by: Staff, visit: Visit) -> None:
    """Refuse someone who may not even look at a visit's steps."""
    if not can_work_on(by=by, visit=visit):
        raise PermissionDenied(_("Only people at the bench can work on a visit."))


def check_can_work_on(*, by: Staff, visit: Visit) -> None:
    """Refuse someone who may not work on a visit, and anyone once it has ended."""
    check_can_see(by=by, visit=visit)
    check_not_shut(visit.client)
    if visit.has_ended:
        raise VisitEnded(_("This visit has ended. Its record can no longer be changed."))
