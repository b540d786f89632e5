"""How far a result is off, in words."""

from django.utils.translation import gettext as _

from consult.agreement.statement import one_decimal, whole


def count_words(n: int) -> str:
    """Return how many results a mean is of, as papers write it; it breaks over no line."""
    return f"n\u00a0=\u00a0{n}"


def in_words(error: float, number: str) -> str:
    """Say an error: "0.4 levels deeper", "8 points cooler", "as predicted"."""
    if number == "depth":
        if abs(error) < 0.05:
            return _("as dark as predicted")
        text = _("%(n)s levels deeper") if error > 0 else _("%(n)s levels lighter")
        return text % {"n": one_decimal(abs(error))}
    if abs(error) < 0.5:
        return _("as warm as predicted")
    text = _("%(n)s points warmer") if error > 0 else _("%(n)s points cooler")
    return text % {"n": whole(abs(error))}
