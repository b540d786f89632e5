"""Writes about links between accounts of one person. Both salons have them on record."""

import datetime as dt

from django.db import transaction
from django.utils.translation import gettext as _

from salon import audit
from salon.linked_salons import links
from salon.models import LinkedAccount, Role, Staff
from salon.policies import require_owner
from salon.refusals import Refused


class LinkRefused(Refused):
    """Raised with the reason why accounts are not linked, or a link is not used."""


@transaction.atomic
def link_accounts(*, other_id: int, by: Staff, at: dt.datetime) -> None:
    """Link the actor's account with one whose password and code were just proven."""
    require_owner(by=by)
    by = Staff.objects.get(pk=by.pk)
    other = Staff.objects.filter(pk=other_id, is_active=True, role=Role.OWNER).first()
    if other is None or other.one_time_until or by.one_time_until:
        raise LinkRefused(
            _("Only accounts of owners, with passwords of their own, can be linked."),
            code="no_owner",
        )
    if other.salon_id == by.salon_id:
        raise LinkRefused(_("This account is of the same salon."), code="same_salon")
    for one, another in ((by, other), (other, by)):
        LinkedAccount.objects.update_or_create(
            staff=one,
            other=another,
            defaults={
                "staff_key": one.get_session_auth_hash(),
                "other_key": another.get_session_auth_hash(),
                "linked_at": at,
            },
        )
        _record("accounts linked", one, another, at)


@transaction.atomic
def unlink_accounts(*, pk: int, by: Staff, at: dt.datetime) -> None:
    """Undo a link, from either side; one that is gone already stays gone."""
    require_owner(by=by)
    row = LinkedAccount.objects.filter(pk=pk, staff=by).select_related("other__salon").first()
    if row is None:
        return
    other = row.other
    LinkedAccount.objects.filter(staff=other, other=by).delete()
    row.delete()
    audit.record_event("accounts unlinked", target=by, by=by, at=at, other=other.pk)
    audit.record_event("accounts unlinked", target=other, by=None, at=at, other=by.pk)


@transaction.atomic
def go_to_salon(*, pk: int, by: Staff, at: dt.datetime) -> Staff:
    """Return the account that the actor goes over into by a link of theirs."""
    require_owner(by=by)
    by = Staff.objects.get(pk=by.pk)
    row = (
        LinkedAccount.objects.select_for_update(of=("self",))
        .filter(pk=pk, staff=by)
        .select_related("other__salon")
        .first()
    )
    if row is None:
        raise LinkRefused(_("This link has been removed."), code="gone")
    if fault := links.fault_of(row, by):
        raise LinkRefused(links.sentence(fault), code=fault)
    _record("salon changed to", by, row.other, at)
    _record("salon changed from", row.other, by, at)
    return row.other


def _record(kind: str, one: Staff, another: Staff, at: dt.datetime) -> None:
    """Record under somebody's own salon, as they are there; numbers only."""
    audit.record_event(
        kind, target=one, by=one, at=at, other=another.pk, other_salon=another.salon_id
    )
