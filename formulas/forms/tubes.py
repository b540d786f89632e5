"""How much a tube holds and costs: the same two fields wherever shades are entered."""

from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from formulas.models import ProductLine
from salon.numbers import Number
from salon.widgets import Stepper


def tube_grams(**how: Any) -> Number:
    """Return the field for what a tube holds. [g]"""
    return Number(
        label=gettext_lazy("Grams in a tube"),
        min_value=1,
        max_value=5000,
        decimal_places=1,
        initial=60,
        widget=Stepper({"step": "1"}, unit="g"),
        **how,
    )


def tube_price(**how: Any) -> Number:
    """Return the field for what a tube costs; the form of a line labels it by `price_label`."""
    return Number(min_value=0, max_value=9999, decimal_places=2, **how)


def price_label(line: ProductLine) -> str:
    """Return the label of a price, which names the salon's currency."""
    return _("Price of a tube, %(currency)s") % {"currency": line.salon.currency}
