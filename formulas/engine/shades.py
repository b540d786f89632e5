"""Shades: a neutral load and a tone load, or a measured swatch, as K/S on the grid.

A neutral load would give white hair the natural colour of its level. A tone load adds
absorption bands of pigment families. Both are K/S of the undiluted recipe of the line
(developer at its own ratio, its own time) on hair of normal porosity.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any

import numpy as np

from formulas.engine import checks
from formulas.engine.chart import Chart
from formulas.engine.grid import WAVELENGTHS_NM, Array, checked_reflectance
from formulas.engine.kubelka_munk import to_ks
from formulas.engine.recovery import recover_reflectance

# White (unpigmented) hair, slightly yellow: model assumption.
WHITE_HAIR_LAB = (82.0, -0.3, 9.0)

# Tone pigment per unit amount, as a multiple of the neutral load's mean K/S at that level:
# 3 to 4 meets the trade facts, 1 does not (model assumption).
TONE_STRENGTH = 3.0

# Width of an absorption band: dyes on fibre absorb over about 100 nm at half height
# (sigma 45 nm; model assumption).
BAND_SIGMA_NM = 45.0


@dataclass(frozen=True)
class Family:
    """A pigment family: bands as (centre in nm, weight), and its strength per part."""

    bands: tuple[tuple[float, float], ...]
    power: float
    source: str


# Band centres: nitro dyes and indoanilines, J. Soc. Cosmet. Chem. 35 (1984) p. 307 Table IV
# and 24 (1973) p. 114 Table V; Acid Blue 9. Powers: blue and green are the strongest per
# part (common practice, no source).
FAMILIES: Mapping[str, Family] = {
    "yellow": Family(((430.0, 1.0),), 1.0, "model assumption"),
    "orange": Family(((471.0, 1.0),), 1.0, "2-nitro-p-phenylenediamine, 471 nm"),
    "red": Family(((513.0, 1.0),), 1.0, "N1,N4-bis(2-hydroxyethyl) nitro dye, 513 nm"),
    "violet": Family(((554.0, 1.0),), 1.0, "indoaniline, 554 nm"),
    "blue": Family(((629.0, 1.0),), 1.25, "Acid Blue 9, 628-630 nm"),
    "green": Family(((653.0, 0.8), (430.0, 0.4)), 1.25, "2-methoxyindamine, 653 nm; yellow"),
}

# Trade words for tones and how strongly they are laid in (model assumption).
TONES: Mapping[str, Mapping[str, float]] = {
    "natural": {},
    "clear": {},
    "violet": {"violet": 1.0},
    "blue": {"blue": 1.0},
    "violet-blue": {"violet": 0.5, "blue": 0.5},
    "pearl": {"violet": 0.35, "blue": 0.15},
    "green": {"green": 1.0},
    "gold": {"yellow": 0.7, "orange": 0.3},
    "copper": {"orange": 0.6, "red": 0.4},
    "red": {"red": 1.0},
    "beige": {"yellow": 0.25, "violet": 0.2},
}
STRENGTHS: Mapping[str, float] = {"slight": 0.1, "soft": 0.3, "": 0.6, "strong": 1.25}


@dataclass(frozen=True)
class Shade:
    """One shade of a line.

    Attributes
    ----------
    name : str
        In plain words: "8 violet-blue".
    level : float or None
        1 to 10; None for clear.
    tones : mapping of family to amount
        Amount 1 is a plain full-bodied tone. [unitless]
    neutral : float
        Share of the neutral load, 0 to 1.5. [unitless]
    strength : float
        Factor on the whole load, learned from results. [unitless]
    reflectance : (31,) array or None
        Measured swatch on white hair; it replaces level, tones and neutral in the load.
    """

    name: str
    level: float | None
    tones: Mapping[str, float] = field(default_factory=dict)
    neutral: float = 1.0
    strength: float = 1.0
    reflectance: Any = None

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise ValueError("name of a shade must not be empty")
        if self.level is not None:
            checks.number(
                self.level, name=f"level of {self.name}", unit="level", low=1, high=10
            )
        for family, amount in self.tones.items():
            if family not in FAMILIES:
                raise ValueError(
                    f"tones of {self.name}: {family!r} is none of {', '.join(FAMILIES)}"
                )
            checks.number(amount, name=f"{family} of {self.name}", unit="amount", low=0, high=5)
        checks.number(
            self.neutral, name=f"neutral of {self.name}", unit="share", low=0, high=1.5
        )
        checks.number(
            self.strength, name=f"strength of {self.name}", unit="factor", low=0.05, high=20
        )

    @classmethod
    def from_words(cls, name: str) -> "Shade":
        """Return a shade read from plain words: "8 strong violet-blue", "10 natural", "clear".

        Raises
        ------
        ValueError
            If a word is not known; the message lists the words that are.
        """
        words = re.sub(r"\s+", " ", name.strip().lower())
        if words == "clear":
            return cls("clear", None)
        match = re.fullmatch(r"(\d+(?:\.5)?) (?:(slight|soft|strong) )?([a-z-]+)", words)
        if not match or match[3] not in TONES or match[3] == "clear":
            raise ValueError(
                f"shade {name!r}: write a level 1-10, optionally slight, soft or strong, "
                f"and one of {', '.join(tone for tone in TONES if tone != 'clear')}; or clear"
            )
        amount = STRENGTHS[match[2] or ""]
        tones = {family: amount * share for family, share in TONES[match[3]].items()}
        return cls(words, float(match[1]), tones)

    @property
    def is_clear(self) -> bool:
        """Whether it carries no pigment at all."""
        return self.level is None and self.reflectance is None

    def neutral_load(self, chart: Chart) -> Array:
        """Return K/S of its neutral background, (31,)."""
        if self.reflectance is not None:
            return np.maximum(to_ks(self._swatch()) - white_hair_ks(), 0.0) * self.strength
        if self.level is None:
            return np.zeros(len(WAVELENGTHS_NM))
        return self.strength * self.neutral * _natural_load(chart, self.level)

    def tone_load(self, chart: Chart) -> Array:
        """Return K/S of its tone pigments, (31,)."""
        if self.reflectance is not None or self.level is None or not self.tones:
            return np.zeros(len(WAVELENGTHS_NM))
        scale = TONE_STRENGTH * _natural_load(chart, self.level).mean() * self.strength
        return scale * sum(
            amount * FAMILIES[family].power * band(family)
            for family, amount in self.tones.items()
        )

    def load(self, chart: Chart) -> Array:
        """Return K/S of the shade, (31,): neutral and tone together."""
        return self.neutral_load(chart) + self.tone_load(chart)

    def _swatch(self) -> Array:
        swatch = checked_reflectance(self.reflectance, name=f"reflectance of {self.name}")
        if swatch.shape != WAVELENGTHS_NM.shape:
            raise ValueError(
                f"reflectance of {self.name} needs {len(WAVELENGTHS_NM)} values "
                f"(400 to 700 nm), given {swatch.shape}; see grid.resample"
            )
        return swatch


def band(family: str) -> Array:
    """Return the absorption of one pigment family, (31,), peak near its weight."""
    return np.asarray(
        sum(
            weight * np.exp(-0.5 * ((WAVELENGTHS_NM - centre) / BAND_SIGMA_NM) ** 2)
            for centre, weight in FAMILIES[family].bands
        )
    )


@cache
def white_hair_ks() -> Array:
    """Return K/S of white hair, (31,)."""
    return to_ks(recover_reflectance(WHITE_HAIR_LAB))


def _natural_load(chart: Chart, level: float) -> Array:
    return np.maximum(chart.natural_ks(level) - white_hair_ks(), 0.0)
