"""What a sitting that a PIN opened may not do. The one place that says so.

A PIN is short and typed while others look on. So whoever came by PIN may work, but not carry
data out, manage people or devices, change the salon's rules and lines, or record an override:
there the password is asked for. Pages for owners alone are shut unless they are named here.
"""

from collections.abc import Callable
from typing import Any

from salon.access import OWNER

# Shut although more than the owner may open them: a secret link carries the diary out.
SHUT = frozenset({"clients:own_feed", "clients:close_feed"})
# For owners alone, and open to a PIN: reading, and counting tubes at the bench.
OPEN_TO_OWNERS = frozenset(
    {
        "salon:component_gallery",
        "salon:house",
        "salon:record_of_changes",
        "consult:histories",
        "consult:start_day",
        "consult:first_steps",
        "formulas:count_stock",
        "formulas:discard_stock",
    }
)


def pin_opens(view_name: str, view: Callable[..., Any]) -> bool:
    """Return whether a sitting opened by PIN gets past this route's gate."""
    if view_name in SHUT:
        return False
    is_owners = getattr(view, "allowed_roles", None) == OWNER
    return not is_owners or view_name in OPEN_TO_OWNERS
