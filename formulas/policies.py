"""Who may change what in the formulary."""

from django.core.exceptions import PermissionDenied
from django.utils.translation import gettext as _

from formulas.models import ProductLine, Shade
from salon.access import BENCH
from salon.models import Staff
from salon.policies import can, is_owner


def check_can_change_lines(*, by: Staff, line: ProductLine | None = None) -> None:
    """Refuse anyone but an owner of the line's salon."""
    if not is_owner(line, by=by):
        raise PermissionDenied(_("Only an owner can change the lines."))


def check_can_change_chart(*, by: Staff) -> None:
    """Refuse anyone but an owner."""
    if not is_owner(by=by):
        raise PermissionDenied(_("Only an owner can change the chart."))


def check_can_handle_stock(*, by: Staff, shade: Shade | None = None) -> None:
    """Refuse those who do not work at the bench of the shade's salon."""
    if not can(shade.line if shade else None, by=by, roles=BENCH):
        raise PermissionDenied(_("Only stylists and owners can change the stock."))


def check_can_correct_stock(*, by: Staff, shade: Shade | None = None) -> None:
    """Refuse anyone but an owner of the shade's salon: a count writes stock away."""
    if not is_owner(shade.line if shade else None, by=by):
        raise PermissionDenied(_("Only an owner can count or discard stock."))
