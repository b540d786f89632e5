"""Which links somebody has, and whether each is good now."""

from dataclasses import dataclass

from django.utils.crypto import constant_time_compare
from django.utils.translation import gettext as _

from salon import selectors
from salon.models import LinkedAccount, Role, Salon, Staff


@dataclass(frozen=True)
class Link:
    """A link as its owner sees it; `fault` is a code where it cannot be used."""

    pk: int
    other: Staff
    fault: str

    @property
    def reason(self) -> str:
        """Return in words why it cannot be used."""
        return sentence(self.fault) if self.fault else ""


def sentence(fault: str) -> str:
    """Return in words why a link cannot be used."""
    return {
        "left": _("The account there cannot sign in, or is no owner’s any more."),
        "changed": _("A password has changed since. Link the two again."),
        "second_factor": _(
            "The account there has a second factor and yours here has none. Set one up here"
            " first, or sign in there."
        ),
    }[fault]


def links_of(staff: Staff) -> list[Link]:
    """Return somebody's links by the name of the other salon."""
    rows = LinkedAccount.objects.filter(staff=staff).select_related("other__salon")
    found = [Link(row.pk, row.other, fault_of(row, staff)) for row in rows]
    return sorted(found, key=lambda link: (link.other.salon.name, link.pk))


def salons_of_same_owner(salon: Salon) -> list[Salon]:
    """Return the other salons whose owner has proven to be this one's, by name.

    Whether that owner needs a second factor to go over says nothing of whose salons they are.
    """
    rows = LinkedAccount.objects.filter(
        staff__salon=salon, staff__is_active=True, staff__role=Role.OWNER
    ).select_related("staff", "other__salon")
    found = {
        row.other.salon
        for row in rows
        if row.other.salon_id != salon.pk and fault_of(row, row.staff) in {"", "second_factor"}
    }
    return sorted(found, key=lambda other: (other.name, other.pk))


def fault_of(row: LinkedAccount, staff: Staff) -> str:
    """Return why a link of somebody's cannot be used, as a code; "" where it can.

    Who can set a password on either account, an owner there or a mail for a forgotten one,
    gets into that account and not through it into the other.
    """
    other = row.other
    if not other.is_active or other.role != Role.OWNER:
        return "left"
    keys = ((staff, row.staff_key), (other, row.other_key))
    if any(one.one_time_until or not _fits(one, key) for one, key in keys):
        return "changed"
    asks = selectors.has_second_factor(staff=other)
    if asks and not selectors.has_second_factor(staff=staff):
        return "second_factor"
    return ""


def _fits(staff: Staff, key: str) -> bool:
    now = [staff.get_session_auth_hash(), *staff.get_session_auth_fallback_hash()]
    return any(constant_time_compare(key, known) for known in now)
