"""The colour engine: predict a toner, find every mix, prove the limit.

Takes and returns plain numbers and numpy arrays; knows no Django, database or clock.
"""

from formulas.engine.appearance import Judge, perceived_lightness
from formulas.engine.chart import Chart
from formulas.engine.deposit import Bed, prepare
from formulas.engine.explain import Sentence, Term
from formulas.engine.hair import Residual, Zone, undertone_from_word
from formulas.engine.lines import Line, demo_lines
from formulas.engine.prediction import Prediction, predict
from formulas.engine.ranged import Ranged
from formulas.engine.shades import Shade

# Raised with every change of a number or formula that a stored suggestion depends on.
VERSION = "1"

__all__ = [
    "VERSION",
    "Bed",
    "Chart",
    "Judge",
    "Line",
    "Prediction",
    "Ranged",
    "Residual",
    "Sentence",
    "Shade",
    "Term",
    "Zone",
    "demo_lines",
    "perceived_lightness",
    "predict",
    "prepare",
    "undertone_from_word",
]
