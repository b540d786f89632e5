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
from formulas.engine.toner.calibration import STRENGTHS

__all__ = ["FAMILIES", "SAME_TONE", "STRENGTHS", "TONES", "Family", "band", "tone_amounts"]

# Width of an absorption band: dyes on fibre absorb over about 100 nm at half height
# (sigma 40 nm; model assumption).
BAND_SIGMA_NM = 40.0


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


def tone_amounts(words: str) -> dict[str, float]:
    """Return the families of a tone in words: "soft violet-blue"; nothing for "natural".

    Raises
    ------
    ValueError
        If a word is not known; the message lists those that are.
    """
    named = [word for word in words.lower().split() if word != "plain"]
    strengths = [word for word in named if word in STRENGTHS]
    rest = [word for word in named if word not in STRENGTHS]
    if "natural" in rest or "neutral" in rest:
        # "soft violet-blue natural": every shade has a neutral background already.
        rest = [word for word in rest if word not in {"natural", "neutral"}] or ["natural"]
    tone = "-".join(rest)
    tone = SAME_TONE.get(tone, tone)
    if tone not in TONES or len(strengths) > 1:
        known = ", ".join(word for word in STRENGTHS if word != "plain")
        raise ValueError(
            f"tone {words!r}: write, if wanted, one of {known}, and one of {', '.join(TONES)}"
        )
    strength = STRENGTHS[strengths[0] if strengths else "plain"]
    return {family: strength * share for family, share in TONES[tone].items()}


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
