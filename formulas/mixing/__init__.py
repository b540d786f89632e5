"""Mixing arithmetic: parts to grams, developer, peroxide, over-pours. Decimal, no database."""

from formulas.mixing.bowl import BowlTable, suggested_bowl_grams, weighable_bowl
from formulas.mixing.mixture import Mixture, mixture_of
from formulas.mixing.over_pour import Rescaled, rescale_after_over_pour
from formulas.mixing.peroxide import (
    PEROXIDE_LIMIT_PERCENT,
    Dilution,
    MadeFrom,
    check_developer,
    check_peroxide,
    dilute_developer,
    percent_to_volumes,
    strength_after_mixing,
    strength_of_blend,
    volumes_to_percent,
)
from formulas.mixing.scale import SCALE_STEPS, MixingRefused, to_step
from formulas.mixing.weights import Weights, colour_grams_of, developer_grams, parts_to_grams

__all__ = [
    "PEROXIDE_LIMIT_PERCENT",
    "SCALE_STEPS",
    "BowlTable",
    "Dilution",
    "MadeFrom",
    "MixingRefused",
    "Mixture",
    "Rescaled",
    "Weights",
    "check_developer",
    "check_peroxide",
    "colour_grams_of",
    "developer_grams",
    "dilute_developer",
    "mixture_of",
    "parts_to_grams",
    "percent_to_volumes",
    "rescale_after_over_pour",
    "strength_after_mixing",
    "strength_of_blend",
    "suggested_bowl_grams",
    "to_step",
    "volumes_to_percent",
    "weighable_bowl",
]
