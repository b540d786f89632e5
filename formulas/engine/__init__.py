"""The colour engine: predict a toner, find every mix, prove the limit.

Takes and returns plain numbers and numpy arrays; knows no Django, database or clock.
"""

from formulas.engine.checks import EngineRefusal
from formulas.engine.hair.appearance import Judge, perceived_lightness
from formulas.engine.hair.chart import Chart
from formulas.engine.light.colorimetry import delta_e_2000
from formulas.engine.limit.band import (
    LimitBand,
    TellingEntry,
    limit_band,
    telling_entries,
)
from formulas.engine.limit.limit import LimitCurve, is_beyond, limit
from formulas.engine.prediction.candidates import Candidate
from formulas.engine.prediction.doubts import Doubts
from formulas.engine.prediction.explain import Sentence, Term
from formulas.engine.prediction.numbers import Setting
from formulas.engine.prediction.prediction import Prediction, predict
from formulas.engine.prediction.ranged import Ranged
from formulas.engine.search.head import Head, head_of
from formulas.engine.search.head_picking import HeadPlace, HeadZone
from formulas.engine.search.offer import Offer, offer, offer_of
from formulas.engine.search.picking import Offered
from formulas.engine.search.placing import Places, places
from formulas.engine.search.practice import Practice
from formulas.engine.search.ranking import Ranked, rank, ranked_mixes
from formulas.engine.search.search import SearchResult, search
from formulas.engine.search.shown import Shown, shown
from formulas.engine.toner.deposit import Bed, prepare
from formulas.engine.toner.lines import Line, demo_lines
from formulas.engine.toner.shades import Shade
from formulas.engine.toner.uptake import kept
from formulas.engine.toner.zone import Residual, Zone, undertone_from_word
from formulas.engine.visits.findings import Habit, Miss
from formulas.engine.visits.learning import Learned, learn
from formulas.engine.visits.observing import Observed
from formulas.engine.visits.repeat import Repeat, repeat
from formulas.engine.visits.visits import Visit, left_over
from formulas.engine.visits.zones import Bowls, Wish, one_bowl, one_bowl_of

# Raised with every change of a number or formula that a stored suggestion depends on.
VERSION = "5"

__all__ = [
    "VERSION",
    "Bed",
    "Bowls",
    "Candidate",
    "Chart",
    "Doubts",
    "EngineRefusal",
    "Habit",
    "Head",
    "HeadPlace",
    "HeadZone",
    "Judge",
    "Learned",
    "LimitBand",
    "LimitCurve",
    "Line",
    "Miss",
    "Observed",
    "Offer",
    "Offered",
    "Places",
    "Practice",
    "Prediction",
    "Ranged",
    "Ranked",
    "Repeat",
    "Residual",
    "SearchResult",
    "Sentence",
    "Setting",
    "Shade",
    "Shown",
    "TellingEntry",
    "Term",
    "Visit",
    "Wish",
    "Zone",
    "delta_e_2000",
    "demo_lines",
    "head_of",
    "is_beyond",
    "kept",
    "learn",
    "left_over",
    "limit",
    "limit_band",
    "offer",
    "offer_of",
    "one_bowl",
    "one_bowl_of",
    "perceived_lightness",
    "places",
    "predict",
    "prepare",
    "rank",
    "ranked_mixes",
    "repeat",
    "search",
    "shown",
    "telling_entries",
    "undertone_from_word",
]
