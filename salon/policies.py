"""Who may do what in a salon: pairs of can_ and check_ that every app builds on."""

from collections.abc import Mapping
from typing import Protocol

from django.core.exceptions import PermissionDenied
from django.utils.translation import gettext as _

from salon.access import OWNER
from salon.models import Role, Staff


class OfSalon(Protocol):
    """Anything that belongs to one salon."""

    @property
    def salon_id(self) -> int: ...


def records_in(fields: Mapping[str, object]) -> list[OfSalon]:
    """Return what a service's fields name that belongs to a salon."""
    return [value for value in fields.values() if hasattr(value, "salon_id")]


def can(*records: OfSalon | None, by: Staff, roles: frozenset[Role]) -> bool:
    """Return whether someone has one of the roles in the salon of every record."""
    return by.role in roles and all(
        record.salon_id == by.salon_id for record in records if record is not None
    )


def is_owner(*records: OfSalon | None, by: Staff) -> bool:
    """Return whether someone is an owner of the salon of every record."""
    return can(*records, by=by, roles=OWNER)


def require_owner(*records: OfSalon | None, by: Staff) -> None:
    """Refuse anyone but an owner of the records' salon."""
    if not is_owner(*records, by=by):
        raise PermissionDenied(_("Only an owner can change this."))
