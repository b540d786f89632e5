"""The formulary's records."""

from formulas.models.chart import ChartEntry, EntryKind, Standing
from formulas.models.line import InventedAnswer, LineKind, ProductLine
from formulas.models.mixing_rules import MixingRules, ScaleStep
from formulas.models.practice_rules import PracticeRules
from formulas.models.shade import Shade
from formulas.models.stock import MovementReason, ShelfBalance, StockMovement
from formulas.models.strengths import StrengthRevision

__all__ = [
    "ChartEntry",
    "EntryKind",
    "InventedAnswer",
    "LineKind",
    "MixingRules",
    "MovementReason",
    "PracticeRules",
    "ProductLine",
    "ScaleStep",
    "Shade",
    "ShelfBalance",
    "Standing",
    "StockMovement",
    "StrengthRevision",
]
