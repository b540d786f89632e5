"""Lookups of the formulary, always inside the request's salon."""

from formulas import selectors
from formulas.models import ProductLine, Shade
from salon.access import SalonRequest, one_or_404


def line_or_404(request: SalonRequest, pk: int) -> ProductLine:
    """Return a line of the request's salon."""
    return one_or_404(selectors.lines(salon=request.salon), pk=pk)


def shade_or_404(request: SalonRequest, pk: int) -> Shade:
    """Return a shade of the request's salon, with its line and `grams` in stock."""
    return one_or_404(selectors.shades_of_salon(salon=request.salon), pk=pk)
