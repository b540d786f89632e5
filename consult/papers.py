"""What the printed pages of a visit say."""

from typing import Any

from consult import histories, selectors
from consult.models import Visit


def visit_card(visit: Visit) -> dict[str, Any]:
    """Return what the visit card shows."""
    choice = selectors.choice_in_force(visit)
    signed = selectors.sign_off_of(choice)
    return {
        "visit": visit,
        "salon": visit.salon,
        "told": histories.told_one(visit),
        "readings": list(selectors.readings_in_force(visit).values()),
        "facts": selectors.facts_in_force(visit),
        "bowls": selectors.bowls_of(visit),
        "signed": signed,
    }
