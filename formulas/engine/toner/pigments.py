"""Pigment families as absorption bands, and the trade's words for tones.

Band centres are those of dyes whose absorption was read in print; width and strength are
model assumptions. Everything here is K/S on the grid, of the undiluted recipe of a line.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np

from formulas.engine import checks
from formulas.engine.light.grid import WAVELENGTHS_NM, Array

# Tone pigment per unit amount, as a multiple of the K/S that lightness alone would give: the
# neutral load of the same level, weighted over the bands as luminance is. 3 to 4 meets the
# trade facts, 1 does not (model assumption).
TONE_STRENGTH = 3.3

# Width of an absorption band: dyes on fibre absorb over about 100 nm at half height
# (sigma 45 nm; model assumption).
BAND_SIGMA_NM = 45.0


@dataclass(frozen=True)
class Family:
    """A pigment family.

    Attributes
    ----------
    bands : tuple of (centre in nm, weight)
    power : float
        Strength per part against the others. [unitless]
    source : str
        Where the centres come from.
    """

    bands: tuple[tuple[float, float], ...]
    power: float
    source: str


_NITRO = "J. Soc. Cosmet. Chem. 35 (1984) p. 307, Table IV"
_INDO = "J. Soc. Cosmet. Chem. 24 (1973) p. 114, Table V"

# Powers: blue and green are the strongest per part (common practice, no source).
FAMILIES: Mapping[str, Family] = {
    "yellow": Family(((430.0, 1.0),), 1.0, "model assumption: absorbs the blue end"),
    "orange": Family(((471.0, 1.0),), 1.0, f"2-nitro-p-phenylenediamine, 471 nm: {_NITRO}"),
    "red": Family(((513.0, 1.0),), 1.0, f"its N1,N4-bis(2-hydroxyethyl), 513 nm: {_NITRO}"),
    "violet": Family(((554.0, 1.0),), 1.0, f"indoaniline, 554 nm: {_INDO}"),
    "blue": Family(((629.0, 1.0),), 1.25, "Acid Blue 9, 628-630 nm"),
    "green": Family(
        ((653.0, 0.8), (430.0, 0.4)),
        1.25,
        f"2-methoxyindamine, 653 nm: {_INDO}; beside it yellow",
    ),
}

# Trade words for tones and the families that they are mixed of (model assumption).
TONES: Mapping[str, Mapping[str, float]] = {
    "natural": {},
    "ash": {"blue": 0.6, "green": 0.2},
    "violet": {"violet": 1.0},
    "blue": {"blue": 1.0},
    "violet-blue": {"violet": 0.6, "blue": 0.4},
    "pearl": {"violet": 0.35, "blue": 0.15},
    "beige": {"yellow": 0.25, "violet": 0.2},
    "gold": {"yellow": 0.7, "orange": 0.3},
    "copper": {"orange": 0.6, "red": 0.4},
    "red": {"red": 1.0},
    "green": {"green": 1.0},
}
SAME_TONE: Mapping[str, str] = {
    "neutral": "natural",
    "golden": "gold",
    "blue-violet": "violet-blue",
}

# How strongly a tone is laid in; plain has no word of its own (model assumption).
STRENGTHS: Mapping[str, float] = {"slight": 0.15, "soft": 0.4, "plain": 1.0, "strong": 1.25}


@cache
def _band(bands: tuple[tuple[float, float], ...], sigma_nm: float) -> Array:
    total = np.zeros(len(WAVELENGTHS_NM))
    for centre, weight in bands:
        total += weight * np.exp(-0.5 * ((WAVELENGTHS_NM - centre) / sigma_nm) ** 2)
    total.flags.writeable = False
    return total


def band(family: str) -> Array:
    """Return the absorption of one pigment family, (31,), its peak near its weight.

    Raises
    ------
    ValueError
        If there is no such family; the message lists those there are.
    """
    checks.one_of(family, FAMILIES, name="family")
    return _band(FAMILIES[family].bands, BAND_SIGMA_NM)
