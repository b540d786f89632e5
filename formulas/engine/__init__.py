"""The colour engine: predict a toner, find every mix, prove the limit.

Takes and returns plain numbers and numpy arrays; knows no Django, database or clock.
"""

from formulas.engine.appearance import Judge, perceived_lightness
from formulas.engine.candidates import Candidate
from formulas.engine.chart import Chart
from formulas.engine.deposit import Bed, prepare
from formulas.engine.explain import Sentence, Term
from formulas.engine.hair import Residual, Zone, undertone_from_word
from formulas.engine.learning import Learned, Miss, learn
from formulas.engine.limit import LimitCurve, lies_beyond, limit
from formulas.engine.lines import Line, demo_lines
from formulas.engine.observing import Observed
from formulas.engine.placing import Places, places
from formulas.engine.prediction import Prediction, predict
from formulas.engine.ranged import Ranged
from formulas.engine.ranking import Ranked, rank
from formulas.engine.repeat import Repeat, repeat
from formulas.engine.search import SearchResult, search
from formulas.engine.shades import Shade
from formulas.engine.uptake import kept
from formulas.engine.visits import Visit, left_over
from formulas.engine.zones import Bowls, Wish, one_bowl, one_bowl_of

# Raised with every change of a number or formula that a stored suggestion depends on.
VERSION = "2"

__all__ = [
    "VERSION",
    "Bed",
    "Bowls",
    "Candidate",
    "Chart",
    "Judge",
    "Learned",
    "LimitCurve",
    "Line",
    "Miss",
    "Observed",
    "Places",
    "Prediction",
    "Ranged",
    "Ranked",
    "Repeat",
    "Residual",
    "SearchResult",
    "Sentence",
    "Shade",
    "Term",
    "Visit",
    "Wish",
    "Zone",
    "demo_lines",
    "kept",
    "learn",
    "left_over",
    "lies_beyond",
    "limit",
    "one_bowl",
    "one_bowl_of",
    "perceived_lightness",
    "places",
    "predict",
    "prepare",
    "rank",
    "repeat",
    "search",
    "undertone_from_word",
]
