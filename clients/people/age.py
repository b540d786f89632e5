"""The ages at which something opens: colour, and signing without a guardian."""

from salon.models import Policy

ADULT_AGE = 18


def opens_a_line(before: int | None, after: int | None, policy: Policy) -> bool:
    """Return whether a change of age opens what was closed before.

    Becoming younger, or known at last, opens nothing that a later change could not close;
    forgetting the age of a client who is too young is a step on the way and counts as one.
    """
    if before is None:
        return False
    lines = (policy.minimum_age, ADULT_AGE)
    if after is None:
        return before < max(lines)
    return any(before < line <= after for line in lines)
