"""The formulary's records."""

from formulas.models.chart import ChartEntry, EntryKind, Standing
from formulas.models.line import LineKind, ProductLine
from formulas.models.shade import Shade
from formulas.models.stock import MovementReason, StockMovement

__all__ = [
    "ChartEntry",
    "EntryKind",
    "LineKind",
    "MovementReason",
    "ProductLine",
    "Shade",
    "Standing",
    "StockMovement",
]
