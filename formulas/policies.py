"""Who may change what in the formulary."""

from django.core.exceptions import PermissionDenied
from django.utils.translation import gettext as _

from formulas.models import ProductLine, Shade
from salon.access import BENCH, OWNER
from salon.models import Staff


def check_can_change_lines(*, by: Staff, line: ProductLine | None = None) -> None:
    """Refuse anyone but an owner of the line's salon."""
    if by.role not in OWNER or (line is not None and line.salon_id != by.salon_id):
        raise PermissionDenied(_("Only an owner may change the lines."))


def check_can_change_chart(*, by: Staff) -> None:
    """Refuse anyone but an owner."""
    if by.role not in OWNER:
        raise PermissionDenied(_("Only an owner may change the chart."))


def check_can_handle_stock(*, by: Staff, shade: Shade) -> None:
    """Refuse those who do not stand at the bench of the shade's salon."""
    if by.role not in BENCH or shade.line.salon_id != by.salon_id:
        raise PermissionDenied(_("Stock is kept by stylists and owners."))


def check_can_correct_stock(*, by: Staff, shade: Shade) -> None:
    """Refuse anyone but an owner of the shade's salon: a count writes stock away."""
    if by.role not in OWNER or shade.line.salon_id != by.salon_id:
        raise PermissionDenied(_("Only an owner may count or discard stock."))
